"""Walls, gaps and the largest ball in shapes whose answers are known."""

import runpy
from pathlib import Path
from types import SimpleNamespace

import manifold3d
import numpy as np
import pytest
import trimesh

from sagger.geometry.surface import mesh
from sagger.geometry.surface.crossings import crossings
from sagger.geometry.tree.bvh import first_hits, nearest, tree
from sagger.geometry.wall import thickness

pytestmark = pytest.mark.slow

shapes = SimpleNamespace(**runpy.run_path(str(Path(__file__).parents[1] / "part_shapes.py")))
box, of, sphere = shapes.box, shapes.of, shapes.sphere


def tube():
    """Not kept, for the library complains of what is left at the end."""
    return manifold3d.Manifold.cylinder(30, 12, 12, 96) - manifold3d.Manifold.cylinder(30, 10, 10, 96)


@pytest.mark.parametrize(
    "shape, diameter",
    [
        (box(30, 20, 3), 3.0),
        (sphere(10), 20.0),
        (of(trimesh.creation.torus(20, 4)), 8.0),
        (box(10, 10, 10), 10.0),
    ],
)
def test_the_largest_ball_has_the_known_diameter(shape, diameter):
    found, centre = thickness.measure(shape)[2:]
    np.testing.assert_allclose(found, diameter, rtol=0.01)  # facets cut into round shapes
    np.testing.assert_allclose(2 * nearest(tree(shape), centre[None]), found, rtol=1e-9)


def test_the_largest_ball_where_two_walls_meet_is_larger_than_the_walls():
    """It touches both outer faces and the inner edge: d / 2 (1 + sqrt 2) = t sqrt 2."""
    cube = manifold3d.Manifold.cube
    ell = cube((40, 40, 40)) - cube((40, 40, 60)).translate((4, 4, -10))
    diameter = thickness.measure(of(ell))[2]
    np.testing.assert_allclose(diameter, 4 * 2 * np.sqrt(2) / (1 + np.sqrt(2)), rtol=1e-3)


def test_a_tube_has_one_wall():
    walls = thickness.measure(of(tube()))[0]
    thin = walls.distance[walls.facing > 0.97]
    np.testing.assert_allclose([thin.min(), np.median(thin)], [2.0, 2.0], rtol=0.01)


def test_a_slot_is_a_gap():
    slotted = manifold3d.Manifold.cube((20, 20, 10)) - manifold3d.Manifold.cube((0.3, 20, 6)).translate(
        (9, 0, 4)
    )
    gaps = thickness.measure(of(slotted))[1]
    np.testing.assert_allclose(gaps.distance.min(), 0.3, rtol=1e-9)
    np.testing.assert_allclose(gaps.areas[gaps.distance < 0.31].sum(), 2 * 20 * 6, rtol=0.02)


def test_the_edge_of_a_block_is_no_wall():
    wedge = mesh.mapped(box(20, 20, 20), np.array([[1, 0, 0.7], [0, 1, 0], [0, 0, 1]]))
    walls = thickness.measure(wedge)[0]
    assert walls.distance[walls.facing > 0.8].min() > 15


def test_points_stand_for_the_whole_surface():
    walls = thickness.measure(sphere())[0]
    np.testing.assert_allclose(walls.areas.sum(), mesh.area(sphere()), rtol=1e-9)


def test_rays_agree_with_every_triangle_tried():
    shape, rng = sphere(10, 2), np.random.default_rng(5)
    origins = rng.uniform(-3, 3, (40, 3))
    ways = rng.normal(size=(40, 3))
    ways /= np.linalg.norm(ways, axis=1)[:, None]
    found, _ = first_hits(tree(shape), origins, ways, np.full(40, -1))
    a, b, c = np.moveaxis(mesh.corners(shape), 1, 0)
    normal = np.cross(b - a, c - a)
    height = np.einsum("tj,tj->t", a, normal) - origins @ normal.T
    along = height / (ways @ normal.T)
    np.testing.assert_allclose(found, np.where(along > 0, along, np.inf).min(axis=1), rtol=1e-9)  # convex


def test_distances_agree_with_a_sphere():
    points = np.random.default_rng(6).uniform(-20, 20, (200, 3))
    truth = np.abs(np.linalg.norm(points, axis=1) - 10)
    np.testing.assert_allclose(nearest(tree(sphere(10, 5)), points), truth, rtol=0, atol=0.01)


def crossing_faces(width):
    """A block on a block, its lower face turned a hair about the upper one of the other: they cross."""
    upper = trimesh.creation.box((width, width, 2))
    upper.apply_transform(trimesh.transformations.rotation_matrix(2e-4 / width, (0, 1, 0)))
    upper.apply_translation((0.3, 0.2, 6))
    return of(trimesh.util.concatenate([trimesh.creation.box((10, 10, 10)), upper]))


@pytest.mark.parametrize("width", [0.3, 3.0])
def test_where_a_surface_passes_through_itself_is_no_wall_unless_it_is_large(width):
    """Both faces lie within 0.2 um of each other, over 0.09 mm2 or 9 mm2 of about 620 mm2."""
    body = crossing_faces(width)
    crossed = np.unique(crossings(body))
    assert len(crossed)
    told, beside = (thickness.measure(body, *given)[0].distance.min() for given in ((), (crossed,)))
    assert told < 2e-4
    assert (beside > 0.1) == (width < 1)


def test_a_foil_that_crosses_nothing_stays_a_wall():
    sheet = of(trimesh.creation.box((10, 10, 5e-4)))
    np.testing.assert_allclose(thickness.measure(sheet, crossings(sheet))[0].distance.min(), 5e-4, rtol=1e-6)
