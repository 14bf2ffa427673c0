import runpy
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from sagger.errors import StopError
from sagger.stations import cure

by_hand = SimpleNamespace(**runpy.run_path(str(Path(__file__).with_name("by_hand.py"))))


def cured(height_mm=240.0, **cards):
    hand = {name: cards.get(name) or getattr(by_hand, name)() for name in ("powder", "binder", "oven")}
    layout = by_hand.layout(height_mm, cards.get("box"))
    return cure.plan(layout, hand["powder"], hand["binder"], hand["oven"])


def whats(plan):
    return {finding.what: finding.level for finding in plan.findings}


# 0.60 x 7950 x 500 = 2.385e6 J/m3K: a block whose core was also found by finite volumes (test_heat_laws.py)
PAGE = {"powder": by_hand.powder(packing="0.60 -")}


def test_box_of_25_litres():
    plan = cured(**PAGE)
    np.testing.assert_allclose(plan.time_to_temperature / 3600, 29.11, rtol=2e-4)
    np.testing.assert_allclose(plan.time_to_cure / 3600, 17.72, rtol=1e-3)
    np.testing.assert_allclose(plan.corner_equivalent / 3600, 46.8, rtol=1e-3)
    assert plan.hold == plan.time_to_temperature


def test_small_box_waits_for_cure():
    small = by_hand.box(length_x="160 mm", length_y="65 mm", length_z="65 mm")
    plan = cured(55.0, box=small, **PAGE)
    np.testing.assert_allclose(plan.time_to_temperature / 3600, 2.95, rtol=2e-3)
    np.testing.assert_allclose(plan.time_to_cure / 3600, 3.05, rtol=2e-3)
    assert plan.hold == plan.time_to_cure


def test_low_fill_heats_sooner():
    low, high = cured(40.0), cured(240.0)
    assert low.time_to_temperature < 0.3 * high.time_to_temperature


def test_fill_never_exceeds_the_box():
    assert cured(250.0).hold == cured(245.0).hold


def test_corner_sees_more_than_the_core_needs():
    plan = cured()
    assert plan.corner_equivalent > 3600
    assert whats(plan)["corner overcured"] == "look"
    assert whats(plan)["cured before temperature"] == "look"


def test_cold_oven_is_refused():
    with pytest.raises(StopError, match="180 degC; raise the set point"):
        cured(oven=by_hand.oven(temperature="180 degC"))


@pytest.mark.parametrize(
    ("room", "fits"),
    [
        ({"length_x": "260 mm", "length_y": "410 mm"}, True),  # turned by a quarter
        ({"length_x": "410 mm", "length_y": "260 mm"}, True),
        ({"length_x": "260 mm", "length_y": "390 mm"}, False),
        ({"length_z": "240 mm"}, False),
    ],
)
def test_box_must_go_into_the_oven(room, fits):
    assert ("box and oven" not in whats(cured(oven=by_hand.oven(**room)))) is fits


def test_cure_at_room_temperature_needs_no_heat():
    cold = by_hand.binder(cure_temperature="20 degC", cure_t95="24 h", solvent="0 %")
    plan = cured(binder=cold)
    assert plan.time_to_temperature == 0.0
    assert 0 < plan.time_to_cure < 24 * 3600


def test_solvent_in_the_oven_is_a_caution():
    plan = cured()
    (finding,) = (finding for finding in plan.findings if finding.what == "solvent vapour in the oven")
    assert "licensed" in finding.remedy
    assert "solvent vapour in the oven" not in whats(cured(binder=by_hand.binder(solvent="0 %")))
