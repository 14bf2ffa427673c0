"""Triangles that are divided to bend, samples of the underside, and surfaces that cross themselves."""

import numpy as np
import pytest
import trimesh

from sagger.geometry.cells import warp
from sagger.geometry.surface import mesh
from sagger.goods.shape import Shape


def shape(body):
    return Shape(vertices=np.asarray(body.vertices), triangles=np.asarray(body.faces, np.int32))


@pytest.mark.parametrize("longest", [3.0, 1.1])
def test_divided_triangles_are_short_and_bound_the_same_body(longest):
    before = shape(trimesh.creation.box((10, 4, 2)))
    after = warp.divided(before, longest)
    assert not len(mesh.open_edges(after))
    np.testing.assert_allclose(mesh.volume(after), 80, rtol=1e-12)
    ends = mesh.edges(after.triangles).ends
    assert np.linalg.norm(after.vertices[ends[:, 0]] - after.vertices[ends[:, 1]], axis=1).max() <= longest
    np.testing.assert_array_equal(after.vertices[:8], before.vertices)


def test_samples_of_the_underside_have_its_area():
    body = shape(trimesh.creation.box((10, 4, 2)))
    found = warp.underside(body, 1.0, 0.5, 2.0)
    below = found.points[:, 2] < -1 + 1e-9
    np.testing.assert_allclose(found.area[below].sum(), 40, rtol=1e-12)
    np.testing.assert_allclose(found.inward[below], [[0, 0, 1]] * below.sum(), atol=1e-12)


def test_samples_of_the_whole_surface_have_its_area_and_look_inwards():
    found = warp.samples(shape(trimesh.creation.box((10, 4, 2))), 0.5)
    np.testing.assert_allclose(found.area.sum(), 136, rtol=1e-12)
    np.testing.assert_array_less((found.points * found.inward).sum(axis=1), 0)


def test_a_sphere_does_not_cross_itself_and_two_that_overlap_do():
    ball = trimesh.creation.icosphere(3, 5.0)
    assert warp.crossed(shape(ball), 0.3) == 0
    other = ball.copy()
    other.apply_translation([4, 0, 0])
    assert warp.crossed(shape(trimesh.util.concatenate([ball, other])), 0.3) > 0.2
    ball.invert()
    assert warp.crossed(shape(ball), 0.3) == 1


def test_how_far_two_boxes_lie_in_one_another_and_where():
    lower, upper = trimesh.creation.box((10, 10, 4)), trimesh.creation.box((4, 4, 4))
    apart = shape(trimesh.util.concatenate([lower, upper.copy().apply_translation((3, 0, 4.5))]))
    assert warp.overlap(apart, 0.3).depth_mm == 0
    found = warp.overlap(shape(trimesh.util.concatenate([lower, upper.apply_translation((3, 0, 3.2))])), 0.3)
    np.testing.assert_allclose(found.depth_mm, 0.8, rtol=1e-9)
    np.testing.assert_allclose(found.at_mm, [3, 0, 1.6], atol=2.2)
    np.testing.assert_allclose(found.at_mm[2], 1.6, rtol=1e-9)
