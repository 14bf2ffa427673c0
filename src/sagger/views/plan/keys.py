"""Where plan.json prints a described field otherwise: under another key, in another form.

A field that is named neither here nor in order.py is printed under its own name with its unit behind it, in
the order of its class.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

from sagger.goods.bed import Bed
from sagger.goods.cured import Conduction, Cured, OvenCourse, Shorter
from sagger.goods.debinding import Debinding, DebindingCourse, RateLimit
from sagger.goods.depowdering import Cleaning
from sagger.goods.dose import Dose
from sagger.goods.layout import Layout, Pose
from sagger.goods.load import Tray
from sagger.goods.mould import Mould
from sagger.goods.order import Choices, Request
from sagger.goods.promised import LinePromise, Promise
from sagger.goods.quote import Quote, Step
from sagger.goods.sintered import Place, ProgrammeProposal, Sintered
from sagger.goods.stack import DropClass, Stack, Tally, Treatment
from sagger.goods.timetable import Change, Drying, Timetable
from sagger.views.plan.forms import CHANCE, MODEL, SHARE, TRAY_PIECE, evenly, hours_and_degrees, places
from sagger.views.plan.rows import listed

KEYS: dict[type, dict[str, str]] = {
    Bed: {"green": "green_density_percent", "green_u": "green_density_u_percent"},
    Change: {"name": "change", "layer": "mean_layer_s"},
    Choices: {"open_share": "open_percent"},
    Cleaning: {"slimness": "way_widths"},
    Conduction: {
        "conductivity": "bed_conductivity_W_per_mK",
        "conductivity_u": "bed_conductivity_u_W_per_mK",
        "origin": "bed_conductivity_from",
    },
    Cured: {
        "final_degree": "final_cure_percent",
        "shares": "hold_shares_percent",
        "last": "last_piece",
        "hottest": "hottest_piece",
    },
    Debinding: {"planned_u": "planned_overpressure_u_kPa"},
    DebindingCourse: {"loss": "burnout_percent_per_min"},
    Dose: {
        "drop": "volume_pL",
        "drops": "count",
        "equilibrium": "equilibrium_saturation_percent",
        "binder": "volume_mL",
        "binder_mass": "mass_g",
        "powder_fed": "fed_kg",
        "powder_in_box": "in_box_kg",
        "powder_in_pieces": "in_pieces_kg",
        "powder_loose": "loose_kg",
        "powder_lost": "lost_kg",
        "powder_back": "back_kg",
    },
    DropClass: {"share": "of_full_percent"},
    Drying: {"flux": "evaporation_g_per_m2_s", "least": "least_time_s"},
    Mould: {
        "fineness": "fineness_AFS",
        "permeability": "permeability_AFS",
        "permeability_u": "permeability_AFS_u",
        "ignition": "loss_on_ignition_percent",
        "ignition_u": "loss_on_ignition_u_percent",
    },
    OvenCourse: {"core_degree": "core_cure_percent", "corner_degree": "corner_cure_percent"},
    Place: {"density": "relative_density_percent"},
    ProgrammeProposal: {"density": "relative_density_percent"},
    Quote: {"yield_total": "yield_percent"},
    RateLimit: {"grain": "d50_um"},
    Sintered: {
        "final_density": "final_relative_density_percent",
        "final_density_u": "final_relative_density_u_percent",
        "density_low": "final_relative_density_low_percent",
        "density_high": "final_relative_density_high_percent",
    },
    Stack: {"layer_mm": "thickness_um", "missed": "missed_rows"},
    Step: {"hours": "duration_h"},
    Tally: {"longest_mm": "longest_bridge_mm", "lost": "lost_drops"},
    Timetable: {"back": "return_s", "longest_share": "longest_percent"},
    Treatment: {"skin": "skin_saturation_percent", "core": "core_saturation_percent"},
}
DECIMALS: dict[type, dict[str, int]] = {
    OvenCourse: dict.fromkeys(OvenCourse.__slots__, 3),  # type: ignore[attr-defined]
    Pose: {"steps": 4, "carried": 1},
}


class KeyForm(NamedTuple):
    """What is printed of a field's value, where it is not the value itself."""

    kind: object = None  # as of a row; None: of the field's own type
    read: Callable[[Any], object] | None = None
    optional: bool = False  # null where the figure is not finite


ITSELF = KeyForm()
_PROGRAMME = KeyForm(list[tuple[float, float]], hours_and_degrees)
FORMS: dict[type, dict[str, KeyForm]] = {
    Bed: {"models": KeyForm(listed(MODEL))},
    Cured: {"shares": KeyForm(dict[str, float]), "programme": _PROGRAMME, "course": KeyForm(read=evenly)},
    Layout: {"least_gap_mm": KeyForm(optional=True)},
    LinePromise: {"shares": KeyForm(listed(SHARE))},
    Promise: {"shares": KeyForm(listed(SHARE)), "without": KeyForm(listed(CHANCE))},
    Request: {"held": KeyForm(list[tuple[float, float, float]], places)},
    Shorter: {"programme": _PROGRAMME},
    Tray: {"pieces": KeyForm(listed(TRAY_PIECE))},
}
SPREAD = {Conduction}  # goods whose rows stand beside those of the good that holds them
