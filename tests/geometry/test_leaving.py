"""Shapes moved away in a straight line, against arithmetic and sweeps by manifold3d; winding numbers."""

import manifold3d
import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from sagger.geometry.pile.judge.clearance import surface
from sagger.geometry.pile.judge.leaving import leaves, way
from sagger.geometry.pile.judge.winding import windings

BALL = trimesh.creation.icosphere(subdivisions=2, radius=5.0)
RING = trimesh.creation.torus(major_radius=8.0, minor_radius=2.0, major_sections=24, minor_sections=12)
CUBE = trimesh.creation.box(extents=(2, 2, 2))


def rooted(mesh: trimesh.Trimesh):
    return surface(np.asarray(mesh.triangles, float))


@pytest.mark.parametrize(
    ("at", "direction", "free"),
    [
        ((0, 0, 2), (0, 0, 1), False),  # it stands on top
        ((0, 0, 2), (0, 0, -1), True),
        ((0, 0, 2), (1, 0, 0), True),  # flush faces slide
        ((2, 0, 0), (0, 0, 1), True),
        ((1.99, 0, 3), (0, 0, 1), False),
        ((2, 2, 2), (1, 1, 1), False),
        ((2, 2, 2), (1, 1, -1), True),
        ((5, 0, 0), (1, 1, 0), True),  # the corner of the other is passed by at x + y = 6
        ((3, 0, 0), (1, 1, 0), False),
    ],
)
def test_a_cube_beside_another(at, direction, free):
    cube = rooted(CUBE)
    assert leaves(cube, cube, np.array(at, float), way(direction)) == free


def test_a_ball_in_a_ring_leaves_along_its_axis_alone():
    ball, ring = rooted(BALL), rooted(RING)
    assert all(leaves(ball, ring, np.zeros(3), way((0, 0, z))) for z in (1, -1))
    assert not any(leaves(ball, ring, np.zeros(3), way(d)) for d in ((1, 0, 0), (1, 1, 0), (1, 0, 1)))


def test_linked_rings_leave_in_no_straight_line():
    upright = RING.copy().apply_transform(trimesh.transformations.rotation_matrix(np.pi / 2, (1, 0, 0)))
    one, two = rooted(RING), rooted(upright)
    ways = [d for d in np.ndindex(3, 3, 3) if d != (1, 1, 1)]
    assert not any(leaves(one, two, np.array([8.0, 0, 0]), way(np.array(d) - 1.0)) for d in ways)


def hook():
    """A block with a tongue, so that some ways out are shut by the overhang."""
    parts = [(6, 4, 2, 0, 0, 1), (2, 4, 6, -2, 0, 3), (4, 4, 1.5, 1, 0, 5.2)]
    solids = [
        trimesh.creation.box(extents=(x, y, z)).apply_translation((a, b, c)) for x, y, z, a, b, c in parts
    ]
    return trimesh.boolean.union(solids, engine="manifold")


@pytest.mark.slow
@settings(max_examples=60, deadline=None)
@given(
    at=st.tuples(*(st.floats(-8, 8) for _ in range(3))),
    step=st.sampled_from([d for d in np.ndindex(3, 3, 3) if d != (1, 1, 1)]),
)
def test_a_swept_hook_meets_what_the_judge_says(at, step):
    """The hook, swept in short steps: what a step sweeps holds both its ends and lies in the true sweep."""
    shape, direction = hook(), np.array(step, float) - 1
    at = np.round(np.array(at) / 0.25) * 0.25 + 0.1  # no face flush with another
    solid = manifold3d.Manifold(
        manifold3d.Mesh64(np.asarray(shape.vertices, float), np.asarray(shape.faces, np.uint64))
    )
    other = solid.translate(at)
    if (solid ^ other).volume() > 1e-9:
        return
    moved = [solid.translate(direction * t) for t in np.arange(0.05, 25, 0.05)]
    met = any((one ^ other).volume() > 1e-9 for one in moved)
    free = leaves(rooted(shape), rooted(shape), at, way(tuple(direction)))
    assert free != met


def test_winding_numbers_inside_outside_and_inside_out():
    points = np.array([[0.0, 0, 0], [4.0, 1, 1], [9.0, 0, 0], [0.0, 0, 30]])
    np.testing.assert_allclose(windings(np.asarray(BALL.triangles), points), [1, 1, 0, 0], atol=1e-12)
    turned = np.asarray(BALL.triangles)[:, ::-1]
    np.testing.assert_allclose(windings(turned, points), [-1, -1, 0, 0], atol=1e-12)
    two = np.concatenate([BALL.triangles, BALL.triangles + 1.0])
    np.testing.assert_allclose(windings(two, points[:1]), [2], atol=1e-12)
