"""A binder that sets in the room: no oven, only time."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from sagger.goods.binder import Binder
from sagger.goods.cured import Conduction, Cured, OvenCourse
from sagger.goods.dose import Dose
from sagger.goods.figure import Figure, cited, cited_at
from sagger.goods.finding import Against, Finding, advice
from sagger.goods.layout import Layout
from sagger.goods.oven import Oven
from sagger.goods.powder import Powder
from sagger.stations.cure import filling
from sagger.units import into

DEGREE = 0.95  # of cure, as of an oven: what lifts a piece


def set_in_room(layout: Layout, dose: Dose, powder: Powder, binder: Binder, oven: Oven) -> Cured:
    """A box that stands until its binder has set: every piece alike, at the room's temperature.

    Parameters
    ----------
    binder : Binder
        Its `cold_cure_time` is the whole of the law: acid sets resin at a rate that the card alone knows.
    oven : Oven
        The room: its ambient temperature.
    """
    setting = binder.cold_cure_time
    assert setting is not None
    room = oven.ambient.value
    bed = filling.conductivity(powder, dose.packing, oven, room)
    _, piece = filling.materials(bed, layout, dose, powder, binder)
    time, kelvin, degree = np.array([0.0, setting.value]), np.full(2, room), np.array([0.0, DEGREE])
    return Cured(
        oven_temperature=room,
        core_temperature=room,
        time_to_temperature=0.0,
        time_to_cure=setting.value,
        degree=DEGREE,
        final_degree=DEGREE,
        corner_equivalent=0.0,
        corner_most=0.0,
        hold=setting.value,
        hold_u=setting.u,
        shares=(("cold cure time", 1.0),) if setting.u else (),
        cool=0.0,
        programme=((0.0, room), (setting.value, room)),
        last=None,
        hottest=None,
        shorter=None,
        course=OvenCourse(
            time=time, oven=kelvin, core=kelvin, corner=kelvin, core_degree=degree, corner_degree=degree
        ),
        bed=Conduction(
            conductivity=bed.value,
            conductivity_u=bed.u,
            origin=bed.origin,
            piece_conductivity=piece.conductivity,
            voxels=(0, 0, 0),
        ),
        findings=tuple(_noticed(setting, room)),
    )


def _noticed(setting: Figure, room: float) -> Iterator[Finding]:
    text = (
        f"No oven: the box stands for {into(setting.value, 'h'):.3g} h at {into(room, 'degC'):.0f} °C "
        f"({cited_at(setting)}). Cold sand and damp air set slower."
    )
    against = Against(into(setting.value, "h"), None, "h", cited(setting))
    remedy = "Print a bar beside the pieces and break it before the box is opened."
    yield advice("sets in the room", text, against, remedy)
