"""One thermocouple run: what it says of the bed, with walls, ramp and doubt."""

import dataclasses
import runpy
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

import exact_block
from sagger.errors import LawError
from sagger.goods.box import Plate
from sagger.goods.ovenrun import OvenRun, RunPlace
from sagger.physics.heat import conduction
from sagger.stations import cure

by_hand = SimpleNamespace(**runpy.run_path(str(Path(__file__).with_name("by_hand.py"))))
SMALL = {"length_x": "160 mm", "length_y": "65 mm", "length_z": "65 mm"}
TRUTH, PACKING = 0.15, 0.58


def run(conductivity=TRUTH, at=(0.08, 0.0325, 0.0325), noise=0.0):
    """Read in a block that stands in a hot oven: the exact series, and a logger's noise."""
    time = np.linspace(0, 4 * 3600, 400)
    block = conduction.Block((0.16, 0.065, 0.065), conductivity, PACKING * 7950 * 500, 20.0, 298.15, 473.15)
    core = exact_block.temperature(block, at, time) + noise * np.random.default_rng(1).normal(size=400)
    return OvenRun(name="run.csv", digest="0" * 32, time=time, oven=np.full(400, 473.15), core=core)


def place(**words):
    given = {"height_mm": 65.0, "at_mm": (80.0, 32.5, 32.5), "packing": PACKING, "packing_u": 0.0}
    return RunPlace(**(given | words))


def calibrated(what, where=None, **cards):
    box, oven = cards.get("box") or by_hand.box(**SMALL), cards.get("oven") or by_hand.oven()
    return cure.calibrate(what, where or place(), by_hand.powder(), box, oven)


@pytest.mark.slow
def test_conductivity_comes_back_within_its_uncertainty():
    found = calibrated(run(noise=0.5))
    np.testing.assert_allclose(found.conductivity, TRUTH, rtol=0.02)
    assert abs(found.conductivity - TRUTH) < 2 * found.u
    np.testing.assert_allclose(found.modelled, found.read, rtol=0, atol=3.0)


@pytest.mark.slow
def test_uncertain_oven_and_packing_make_an_uncertain_bed():
    sure = calibrated(run())
    film = dataclasses.replace(by_hand.figure("20 W/m2.K"), u=4.0)
    unsure = calibrated(run(), place(packing_u=0.03), oven=by_hand.oven(heat_transfer=film))
    assert unsure.u > 1.5 * sure.u
    assert {"packing", "heat transfer", "place", "reading"} == {name for name, _ in unsure.shares}
    np.testing.assert_allclose(sum(share for _, share in unsure.shares), 1.0, rtol=1e-9)


@pytest.mark.slow
def test_walls_that_hold_heat_are_taken_into_account():
    words = {"thickness": "8 mm", "conductivity": "15 W/m.K"}
    wall = by_hand.card(Plate, words | {"density": "8000 kg/m3", "heat_capacity": "500 J/kg.K"})
    lined = calibrated(run(), box=by_hand.box(**SMALL, wall=wall, base=wall))
    assert lined.conductivity > 1.05 * TRUTH


def test_place_outside_the_powder_is_refused():
    with pytest.raises(LawError, match="outside"):
        calibrated(run(), place(height_mm=30.0))
