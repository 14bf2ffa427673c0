"""Proposed programmes keep their limits, superposition agrees with the run, and what is no box is refused."""

from math import inf

import numpy as np
import pytest

from sagger.errors import Cancelled, LawError
from sagger.physics.heat.box_heat import CuringBox, Programme, cure
from sagger.physics.heat.box_heat_grid import BoxWall, Face, HeatedBed, Material, middles, voxel_at
from sagger.physics.heat.box_heat_kinetics import CureKinetics, first_order_rate
from sagger.physics.heat.box_heat_propose import ProgrammeLimits, _answer, propose, temperatures
from sagger.tick import Tick

POWDER, PIECE = Material(0.2, 2.385e6), Material(0.6, 2.7e6)
START, OVEN, HOUR = 298.15, 473.15, 3600.0
PHENOLIC = CureKinetics(49.6e3, 453.15, first_order_rate(HOUR))
IN_OVEN = Face(20.0)
STEEL, PLATE = BoxWall(0.003, Material(15.0, 4.0e6)), BoxWall(0.010, Material(150.0, 2.4e6))


def nested(sides=(0.12, 0.09, 0.08), shape=(12, 9, 8)):
    """A bed with two blocks in it, one of them partly powder."""
    parts = np.zeros(shape)
    parts[2:5, 1:4, 2:4], parts[6:10, 4:7, 3:6] = 1.0, 0.6
    widths = tuple(np.full(n, side / n) for side, n in zip(sides, shape, strict=True))
    return HeatedBed(parts, widths, POWDER, PIECE, START)


RAMPED = Programme((0.0, HOUR, 14 * HOUR), (START, OVEN, OVEN))
WALLED = (Face(20.0, wall=STEEL),) * 4 + (Face(10.0, 330.0, wall=PLATE), IN_OVEN)


def place(bed, voxel):
    return tuple(float(middles(w)[i]) for w, i in zip(bed.widths, voxel, strict=True))


@pytest.mark.slow
def test_superposed_answers_agree_with_the_run():
    bed = nested()
    run = cure(CuringBox(bed, WALLED, PHENOLIC), RAMPED, allowed=0.01)
    answer = _answer(bed, WALLED, run, 200.0, 0.01)
    two = temperatures(answer, RAMPED, times := run.times[run.times < run.cured_after])
    places = [place(bed, voxel) for voxel in (run.last, run.corner)]
    asked = cure(CuringBox(bed, WALLED, PHENOLIC), RAMPED, places, allowed=0.01)
    np.testing.assert_allclose(two.T, asked.at[:, : len(times)], atol=0.3, rtol=0)


@pytest.mark.slow
@pytest.mark.nature
def test_proposed_programme_is_shorter_and_keeps_its_limits():
    bed, faces = nested(sides=(0.24, 0.18, 0.16)), (Face(20.0, wall=STEEL),) * 6
    base = cure(CuringBox(bed, faces, PHENOLIC), Programme((0.0, HOUR, 40 * HOUR), (START, OVEN, OVEN)))
    limits = ProgrammeLimits(hottest=OVEN + 20, ramp=175 / HOUR, corner=1.3 * base.corner_equivalent)
    found = propose(CuringBox(bed, faces, PHENOLIC), limits, (RAMPED, base))
    assert found.saved > 600 and found.run.cured_after <= found.programme.times[-1] < base.cured_after
    assert max(found.programme.temperatures) <= limits.hottest
    assert found.run.corner_equivalent <= limits.corner
    again = cure(CuringBox(bed, faces, PHENOLIC), found.programme)
    np.testing.assert_allclose(again.cured_after, found.run.cured_after, rtol=2e-3)


@pytest.mark.slow
def test_nothing_is_proposed_where_nothing_may_be_hotter_or_longer():
    base = cure(CuringBox(nested(), WALLED, PHENOLIC), RAMPED)
    limits = ProgrammeLimits(hottest=OVEN, ramp=175 / HOUR, corner=base.corner_equivalent)
    assert propose(CuringBox(nested(), WALLED, PHENOLIC), limits, (RAMPED, base)) is None


def test_voxel_at_a_place_is_the_one_that_holds_it():
    bed = nested()._replace(widths=(np.array([0.05, 0.15]),) * 3)
    assert voxel_at(bed, (0.04, 0.06, 0.2)) == (0, 1, 1)


GOOD = (nested(), (IN_OVEN,) * 6, Programme((0.0, HOUR), (OVEN, OVEN)), PHENOLIC)


@pytest.mark.parametrize(
    ("place", "wrong", "says"),
    [
        (0, nested()._replace(parts=np.zeros((12, 9, 8))), "no voxel holds a piece"),
        (0, nested()._replace(parts=np.full((12, 9, 8), 1.5)), "0 to 1|between 0 and 1"),
        (0, nested()._replace(parts=np.ones((2, 2, 2))), "shape"),
        (0, nested()._replace(powder=Material(0.0, 2e6)), "conductivity of powder"),
        (0, nested()._replace(powder=Material(0.03, 1.2e3)), "air gap"),
        (0, nested()._replace(part=Material(0.6, inf)), "a number"),
        (0, nested()._replace(part=Material(float("nan"), 2e6)), "conductivity of part"),
        (1, (IN_OVEN,) * 5, "six faces"),
        (1, (Face(-1.0),) * 6, "film at face x low"),
        (1, (Face(1.0, wall=STEEL._replace(thickness=0.0)),) * 6, "thicker than 0"),
        (2, Programme((0.0, 5.0, 5.0), (300.0, 400.0, 300.0)), "must rise"),
        (2, Programme((0.0, 5.0), (-20.0, 180.0)), "above 0 K"),
        (3, PHENOLIC._replace(asked=1.0), "degree"),
    ],
)
def test_what_is_not_a_box_is_refused(place, wrong, says):
    bed, faces, programme, kinetics = [wrong if n == place else one for n, one in enumerate(GOOD)]
    with pytest.raises(LawError, match=says):
        cure(CuringBox(bed, faces, kinetics), programme)


def test_a_person_may_stop_it():
    with pytest.raises(Cancelled):
        cure(CuringBox(*GOOD[:2], PHENOLIC), GOOD[2], tick=Tick(lambda *_: None, lambda: True))
