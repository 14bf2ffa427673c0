"""Voxels of solids whose volume a textbook or a general mesh library knows."""

import numpy as np
import pytest
import trimesh

from sagger.geometry.cells.voxels import filled

PITCH = (7.0, 5.0, 6.0)
SHAPE = (20, 20, 20)


def triangles(mesh, at=(0.0, 0.0, 0.0)):
    return np.asarray(mesh.triangles) + np.array(at)


def shares(*solids):
    whole = np.zeros(SHAPE)
    for each in solids:
        found = filled(each, PITCH, SHAPE)
        whole[tuple(slice(a, a + n) for a, n in zip(found.first, found.shares.shape, strict=True))] += (
            found.shares
        )
    return whole


def test_block_that_ends_between_voxels_fills_its_share_of_each():
    block = triangles(trimesh.creation.box((14.0, 10.0, 9.0)), (14.0, 10.0, 7.5))  # x 7-21, y 5-15, z 3-12
    found = shares(block)
    np.testing.assert_allclose(found[1:3, 1:3, 0], 0.5, rtol=1e-12)
    np.testing.assert_allclose(found[1:3, 1:3, 1], 1.0, rtol=1e-12)
    np.testing.assert_allclose(found.sum(), 4 * 1.5, rtol=1e-12)


@pytest.mark.parametrize(
    ("mesh", "volume"),
    [
        (trimesh.creation.icosphere(5, 30.0), 4 / 3 * np.pi * 30**3),
        (trimesh.creation.annulus(15.0, 28.0, 40.0), np.pi * (28**2 - 15**2) * 40),
    ],
)
def test_volume_is_that_of_the_solid(mesh, volume):
    turned = mesh.copy()
    turned.apply_transform(trimesh.transformations.rotation_matrix(0.7, (1, 2, 3)))
    found = shares(triangles(turned, (60.0, 45.0, 55.0)))
    np.testing.assert_allclose(found.sum() * np.prod(PITCH), volume, rtol=0.01)


def test_hole_stays_empty_and_what_lies_beyond_is_left_out():
    ring = triangles(trimesh.creation.annulus(15.0, 28.0, 60.0), (70.0, 50.0, 30.0))
    assert shares(ring)[10, 10, 5] == 0.0
    outside = triangles(trimesh.creation.box((30.0, 10.0, 6.0)), (0.0, 10.0, 9.0))
    np.testing.assert_allclose(shares(outside)[:2, 1:3, 1].sum(), 2 * 15 / 7, rtol=0.1)
