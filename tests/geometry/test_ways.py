"""Ways out of parts whose bores are known: length to a cell and 6 %, width to a cell, openings counted."""

import runpy
from pathlib import Path
from types import SimpleNamespace

import manifold3d
import numpy as np
import pytest

from sagger.geometry.wall import cavities, reach, thickness, ways

shapes = SimpleNamespace(**runpy.run_path(str(Path(__file__).parents[1] / "part_shapes.py")))
SOLID = manifold3d.Manifold
BALL_MM, TOOL_MM = 2.4, 12.0


def block():
    """Not kept, for the library complains of what is left at the end."""
    return SOLID.cube((40, 40, 40), True)


def pockets(solid):
    return ways.pockets(cavities.flooded(shapes.of(solid), BALL_MM), TOOL_MM)


def walls(solid, thin_mm=3.0):
    body = shapes.of(solid)
    grid = cavities.flooded(body, BALL_MM).grid
    return reach.walls(grid, thickness.measure(body)[0], thin_mm)


@pytest.mark.slow
def test_a_through_bore_has_two_openings_and_its_way_begins_in_the_middle():
    (pocket,) = pockets(block() - SOLID.cylinder(60, 2, 2, 32, True))
    assert pocket.openings == 2
    np.testing.assert_allclose(pocket.length_mm, 20, rtol=0.06, atol=0.4)
    np.testing.assert_allclose(pocket.width_mm, 4, rtol=0, atol=0.45)
    np.testing.assert_allclose(pocket.volume_mm3, np.pi * 4 * 40, rtol=0.1)


@pytest.mark.slow
def test_a_blind_bore_is_a_dead_end_as_long_as_it_is_deep():
    (pocket,) = pockets(block() - SOLID.cylinder(30, 2, 2, 32).translate((0, 0, -10)))
    assert pocket.openings == 1
    np.testing.assert_allclose(pocket.length_mm, 30 - 2, rtol=0.06, atol=0.4)  # a ball of 4 mm at its bottom


@pytest.mark.slow
def test_a_chamber_is_as_narrow_as_the_widest_of_its_necks():
    chamber = block() - SOLID.sphere(10, 64) - SOLID.cylinder(30, 1.5, 1.5, 32)
    (one,) = pockets(chamber)
    (two,) = pockets(chamber - SOLID.cylinder(30, 2.5, 2.5, 32).rotate((90, 0, 0)))
    assert (one.openings, two.openings) == (1, 2)
    np.testing.assert_allclose([one.width_mm, two.width_mm], [3, 5], rtol=0, atol=0.5)


@pytest.mark.slow
def test_a_bent_channel_is_as_long_as_its_bends():
    plate = SOLID.cube((60, 60, 12), True)
    for size, at in (
        ((50, 5, 5), (0, 20, 0)),
        ((5, 20, 5), (22.5, 12.5, 0)),
        ((50, 5, 5), (0, 5, 0)),
        ((5, 20, 5), (-22.5, -2.5, 0)),
        ((60, 5, 5), (5, -10, 0)),
    ):
        plate -= SOLID.cube(size, True).translate(at)
    (pocket,) = pockets(plate)
    straight = 45 + 15 + 45 + 15 + 52.5  # along the middles, corners cut less
    assert 0.85 * straight < pocket.length_mm < 1.06 * straight


@pytest.mark.slow
@pytest.mark.parametrize(
    "solid",
    [
        block(),
        SOLID.cylinder(60, 15, 15, 64) - SOLID.cylinder(60, 12, 12, 64).translate((0, 0, 3)),
    ],
)
def test_what_a_tool_reaches_is_no_pocket(solid):
    assert pockets(solid) == []


@pytest.mark.slow
@pytest.mark.parametrize("turn", [(0, 0, 0), (31, 17, 5)])
def test_a_fin_stands_out_by_its_height(turn):
    fin = SOLID.cube((1, 30, 20), True).translate((0, 0, 29))
    (wall,) = walls((block() + fin).rotate(turn))
    np.testing.assert_allclose(wall.thickness_mm, 1, rtol=1e-6)
    np.testing.assert_allclose(wall.reach_mm, 20 - 1, rtol=0.06, atol=0.5)  # its root lies a little inside


@pytest.mark.slow
def test_a_web_is_held_at_both_ends():
    web = SOLID.cube((70, 1.5, 20), True).translate((35, 0, 0))
    (wall,) = walls(block() + block().translate((70, 0, 0)) + web)
    np.testing.assert_allclose(wall.reach_mm, 15, rtol=0.08, atol=0.5)


def test_a_plate_that_is_thin_all_over_is_held_at_its_middle():
    (wall,) = walls(SOLID.cube((60, 40, 2), True))
    np.testing.assert_allclose([wall.reach_mm, wall.thickness_mm], [30, 2], rtol=1e-3)


@pytest.mark.slow
def test_a_block_has_no_wall_that_stands_out():
    assert walls(block()) == []


@pytest.mark.slow
@pytest.mark.parametrize("scale", [0.5, 3.0])
def test_part_and_ball_scaled_together_have_the_same_ways(scale):
    bored = block() - SOLID.cylinder(30, 2, 2, 32).translate((0, 0, -10))
    (one,) = pockets(bored)
    body = shapes.of(bored.scale((scale, scale, scale)))
    (other,) = ways.pockets(cavities.flooded(body, BALL_MM * scale), TOOL_MM * scale)
    np.testing.assert_allclose(other.length_mm, scale * one.length_mm, rtol=0.02)
    np.testing.assert_allclose(other.slimness, one.slimness, rtol=0.1)
    assert other.openings == one.openings
