"""Powder carried along by shapes whose hollows are known."""

import numpy as np
import pytest
import trimesh

from sagger.geometry.pile.space.carried import carried

CUP = trimesh.creation.box((24, 24, 24)).difference(
    trimesh.creation.box((16, 16, 20)).apply_translation([0, 0, 2])
)


def turned(mesh, about_x):
    matrix = trimesh.transformations.rotation_matrix(np.radians(about_x), [1, 0, 0])
    return mesh.copy().apply_transform(matrix).triangles


@pytest.mark.slow
@pytest.mark.parametrize(("about_x", "volume"), [(0, 16 * 16 * 20), (90, 0), (180, 0), (270, 0)])
def test_a_cup_carries_powder_only_with_its_mouth_up(about_x, volume):
    np.testing.assert_allclose(carried(turned(CUP, about_x)), volume, rtol=0.01, atol=0)


def test_a_tube_carries_nothing_and_a_closed_box_everything():
    tube = trimesh.creation.annulus(r_min=6, r_max=9, height=20, sections=32)
    assert carried(turned(tube, 0)) == 0.0 == carried(turned(tube, 90))
    shell = trimesh.creation.box((24, 24, 24)).difference(trimesh.creation.box((16, 16, 16)))
    np.testing.assert_allclose(carried(turned(shell, 0)), 16**3, rtol=0.01, atol=0)
