"""A wall is as thick as what carries it: a speck does not stand for the whole reach."""

from __future__ import annotations

import numpy as np

from sagger.geometry.wall import reach
from sagger.geometry.wall.cavities import CubeGrid
from sagger.geometry.wall.thickness import Across

PLATE = (30.0, 20.0, 2.0)  # thin all over: less than the 3 mm that hold a wall


def plate(specks: float) -> tuple[CubeGrid, Across]:
    """A plate, and its thickness at 1,000 points of the surface, of which a share is on 0.4 mm specks."""
    grid = CubeGrid(np.ones((60, 40, 4), bool), np.zeros(3), 0.5)
    rng = np.random.default_rng(5)
    points = rng.uniform(0, PLATE, (1000, 3))
    points[:, 2] = 2.0
    thick = np.where(np.arange(1000) < 1000 * specks, 0.4, 2.0)
    up = np.tile([0.0, 0.0, 1.0], (1000, 1))
    areas = np.full(1000, 2 * 600.0 / 1000)
    return grid, Across(points=points, normals=up, distance=thick, facing=np.ones(1000), areas=areas)


def test_a_plate_with_a_speck_is_a_plate():
    (wall,) = reach.walls(*plate(0.02), 3.0)
    np.testing.assert_allclose(wall.thickness_mm, 2.0, rtol=1e-12)
    np.testing.assert_allclose(wall.reach_mm, 15.0, rtol=0.01)


def test_a_plate_that_is_thin_over_a_fifth_is_taken_as_that_thin():
    (wall,) = reach.walls(*plate(0.2), 3.0)
    np.testing.assert_allclose(wall.thickness_mm, 0.4, rtol=1e-12)
