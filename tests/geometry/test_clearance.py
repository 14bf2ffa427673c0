"""Distances between surfaces, against arithmetic and against manifold3d's min_gap."""

import manifold3d
import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from sagger.geometry.pile.judge.clearance import apart, surface

BALL = trimesh.creation.icosphere(subdivisions=2, radius=5.0)
RING = trimesh.creation.torus(major_radius=8.0, minor_radius=2.0, major_sections=24, minor_sections=12)


def rooted(mesh: trimesh.Trimesh):
    return surface(np.asarray(mesh.triangles, float))


def other(mesh: trimesh.Trimesh) -> manifold3d.Manifold:
    return manifold3d.Manifold(
        manifold3d.Mesh64(np.asarray(mesh.vertices, float), np.asarray(mesh.faces, np.uint64))
    )


def test_cubes_side_by_side_edge_to_edge_and_corner_to_corner():
    cube = rooted(trimesh.creation.box(extents=(2, 2, 2)))
    for shift, expected in (((5, 1, 0.5), 3.0), ((5, 6, 0), 5.0), ((3, 4, 4), 3.0)):
        np.testing.assert_allclose(apart(cube, cube, np.array(shift, float), 99.0), expected, rtol=1e-14)


def test_meeting_surfaces_are_zero_apart():
    cube = rooted(trimesh.creation.box(extents=(2, 2, 2)))
    assert apart(cube, cube, np.array([1.0, 1.0, 1.0]), 9.0) == 0.0
    assert apart(cube, cube, np.array([2.0, 0.3, 0.0]), 9.0) == 0.0
    assert apart(cube, cube, np.zeros(3), 9.0) == 0.0


def test_a_body_inside_another_is_not_apart_but_a_ball_in_a_hollow_is():
    ball, solid = rooted(BALL), rooted(trimesh.creation.box(extents=(30, 30, 30)))
    hollow = trimesh.creation.box(extents=(30, 30, 30))
    core = trimesh.creation.box(extents=(20, 20, 20))
    core.invert()
    shell = rooted(trimesh.util.concatenate([hollow, core]))
    assert apart(solid, ball, np.zeros(3), 99.0) == 0.0
    assert apart(ball, solid, np.zeros(3), 99.0) == 0.0
    np.testing.assert_allclose(apart(shell, ball, np.zeros(3), 99.0), 5.0, rtol=1e-12)


def test_one_of_two_shells_inside_another_body_is_found():
    two = trimesh.util.concatenate([BALL, BALL.copy().apply_translation((40, 0, 0))])
    solid = rooted(trimesh.creation.box(extents=(30, 30, 30)))
    assert apart(solid, rooted(two), np.zeros(3), 99.0) == 0.0


def test_farther_than_asked_gives_what_was_asked():
    ball = rooted(BALL)
    assert apart(ball, ball, np.array([50.0, 0.0, 0.0]), 7.0) == 7.0


@pytest.mark.slow
@settings(max_examples=25, deadline=None)
@given(shift=st.tuples(*[st.floats(-14, 14)] * 3), ball_first=st.booleans())
def test_same_as_manifold3d(shift, ball_first):
    one, two = (BALL, RING) if ball_first else (RING, BALL)
    moved = other(two).translate(list(shift))
    ours = apart(rooted(one), rooted(two), np.array(shift, float), 30.0)
    if (other(one) ^ moved).volume() > 0:
        assert ours == 0.0
    else:
        theirs = other(one).min_gap(moved, 30.0)
        assert ours == pytest.approx(theirs, abs=2e-5)  # it works in single precision here
