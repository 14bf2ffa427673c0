"""Chances by orientation before nesting, against closed forms, and the nest that takes the best."""

import dataclasses
import runpy
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from scipy.stats import norm

import furnace_goods as hand
from sagger import line as process
from sagger.goods.learned import Approved
from sagger.goods.order import Choices, Nesting
from sagger.goods.stack import DropRaster
from sagger.stations import nest, promise

drawn = SimpleNamespace(**runpy.run_path(str(Path(__file__).with_name("test_promise_drawn.py"))))
shapes = SimpleNamespace(**runpy.run_path(str(Path(__file__).parents[1] / "nest_shapes.py")))
RASTER = DropRaster(pitch_mm=(0.0635, 0.0635), layer_mm=0.05, jitter=False)
U_Z = 3e-3  # of lengths along z, relative; along x and y nothing is doubted


def judged(*lines, **more):
    part = drawn.part(*lines, orientations="free", **more)
    given = hand.factors(u=(0.0, 0.0, U_Z * 1.22), origin="ledger 7")
    green = hand.green(dataclasses.replace(part, findings=()), given)
    cell = hand.cell(powder=hand.powder(hand.sintering(**drawn.STILL)), furnace=hand.furnace(uniformity=0.0))
    fired = process.fire((green,), (), cell, process.plainly)
    return promise.by_turn((green,), RASTER, fired, cell, Approved(), Choices())[0]


@pytest.mark.slow
def test_a_round_bore_is_best_laid_with_its_axis_up():
    """Roundness R |e_x - e_z|, R 4 mm: 12 um at 0.3 %, limit 15 um: 0.789 lying, all pieces standing."""
    green = judged(
        drawn.line("roughness", drawn.TOP, "Ra 9 um"), drawn.line("roundness", drawn.BORE, "0.015 mm")
    )
    upright = np.abs(green.part.turns[:, 2, 2]) > 0.5
    assert upright.sum() == 8 and len(upright) == 24
    np.testing.assert_allclose(green.chances[upright], 1.0, atol=1e-9)
    lying = 2 * norm.cdf(0.015 / (4 * U_Z)) - 1
    np.testing.assert_allclose(green.chances[~upright], lying, atol=0.01)


@pytest.mark.slow
def test_the_nest_takes_the_orientations_of_the_promise_and_tells_their_price():
    """A brick 10 x 20 x 5 that is good standing only: 20 mm high in place of 5."""
    bricks = shapes.green("brick", shapes.brick(10, 20, 5), 4, turns=shapes.TURNS)
    high = np.ptp(bricks.part.shape.vertices @ np.swapaxes(bricks.part.turns, 1, 2), axis=1)[:, 2]
    assert set(high.round(6)) == {5.0, 10.0, 20.0}
    sure = dataclasses.replace(bricks, chances=np.where(high > 15, 0.9, 0.4))
    wish = Choices(nesting=Nesting(prefer="promise"))
    (layout,) = nest.pack((sure,), shapes.box((60, 60, 60), gap=2.0), wish).layouts
    np.testing.assert_allclose([pose.height_mm for pose in layout.poses], 20.0, rtol=1e-9)
    assert {pose.chance for pose in layout.poses} == {0.9}
    (told,) = [finding for finding in layout.findings if finding.what == "orientations by promise"]
    assert (
        "good pieces 90 instead of 40 %" in told.text and "20.0 mm high in all instead of 5.0 mm" in told.text
    )
    (low,) = nest.pack((bricks,), shapes.box((60, 60, 60), gap=2.0), Choices()).layouts
    assert {pose.chance for pose in low.poses} == {None}


def test_other_wishes_are_not_judged():
    assert process.judged(("greens",), None, None, Choices(), None) == ("greens",)
