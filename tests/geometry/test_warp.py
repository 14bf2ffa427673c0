"""Triangles that are divided to bend, samples of the underside, and surfaces that cross themselves."""

import numpy as np
import pytest
import trimesh

from sagger.geometry import mesh, warp
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


def test_a_sphere_does_not_cross_itself_and_two_that_overlap_do():
    ball = trimesh.creation.icosphere(3, 5.0)
    assert warp.crossed(shape(ball), 0.3) == 0
    other = ball.copy()
    other.apply_translation([4, 0, 0])
    assert warp.crossed(shape(trimesh.util.concatenate([ball, other])), 0.3) > 0.2
    ball.invert()
    assert warp.crossed(shape(ball), 0.3) == 1
