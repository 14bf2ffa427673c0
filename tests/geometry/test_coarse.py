"""Shapes with fewer triangles still look like themselves."""

import numpy as np
import pytest
import trimesh

from sagger.geometry.surface.coarse import coarser
from sagger.goods.shape import Shape


def of(mesh):
    return Shape(vertices=mesh.vertices, triangles=mesh.faces.astype(np.int32))


def drilled():
    """A plate with many holes, full of slivers: edges alone cannot be drawn together far."""
    import manifold3d

    plate = manifold3d.Manifold.cube((60, 40, 5))
    for n in range(24):
        hole = manifold3d.Manifold.cylinder(9, 2.1, 2.1, 96).translate((5 + n % 6 * 10, 5 + n // 6 * 10, -2))
        plate -= hole
    raw = plate.to_mesh64()
    return Shape(vertices=np.array(raw.vert_properties)[:, :3], triangles=np.array(raw.tri_verts, np.int32))


@pytest.mark.slow
@pytest.mark.parametrize("triangles", [150, 1000])
@pytest.mark.parametrize("shape", [of(trimesh.creation.icosphere(5, 20.0)), drilled()], ids=["ball", "plate"])
def test_about_as_many_triangles_as_asked_and_the_same_size(shape, triangles):
    seen = coarser(shape, triangles)
    assert 0.5 * triangles < len(seen.triangles) <= 1.3 * triangles
    np.testing.assert_allclose(np.ptp(seen.vertices, axis=0), np.ptp(shape.vertices, axis=0), rtol=0.15)


def test_a_ball_stays_a_ball():
    seen = coarser(of(trimesh.creation.icosphere(5, 20.0)), 1000)
    np.testing.assert_allclose(
        trimesh.Trimesh(seen.vertices, seen.triangles).volume, 4 / 3 * np.pi * 8000, rtol=0.02
    )


def test_a_shape_that_is_coarse_already_is_left_alone():
    shape = of(trimesh.creation.box((1, 2, 3)))
    assert coarser(shape, 150) is shape
