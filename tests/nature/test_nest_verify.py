"""The judge of nests finds planted overlaps, whether or not the boolean library takes the mesh."""

import sys
from pathlib import Path

import numpy as np
import pytest
import trimesh

sys.path.insert(0, str(Path(__file__).parents[2] / "benchmarks"))
from nest_verify import body, verify

CUBE = trimesh.creation.box(extents=(2, 2, 2))
BALL = trimesh.creation.icosphere(subdivisions=3, radius=1.0)


def lying(mesh, at, *, refused=False, turned=False):
    faces = np.asarray(mesh.faces)[:, ::-1] if turned else np.asarray(mesh.faces)
    made = body(np.asarray(mesh.vertices) + at, faces)
    return made._replace(solid=None) if refused else made


@pytest.mark.parametrize("refused", [False, True])
@pytest.mark.parametrize("turned", [False, True])
def test_shared_volume_of_cubes(refused, turned):
    one = lying(CUBE, (0, 0, 0), turned=turned)
    for shift, share in (((1.0, 1, 1), 1 / 8), ((1.5, 0, 0), 1 / 4), ((0.5, 0.5, 0), 9 / 16)):
        found = verify([one, lying(CUBE, shift, refused=refused, turned=turned)])
        np.testing.assert_allclose(found.shared, share, atol=0.012 if refused else 1e-9)
    assert verify([one, lying(CUBE, (2, 0, 0), refused=refused)]).shared == 0


def test_a_thin_overlap_is_found_by_winding_numbers_too():
    for depth in (0.004, 0.02):
        found = verify([lying(CUBE, (0, 0, 0)), lying(CUBE, (2 - depth, 0.3, 0.1), refused=True)])
        assert found.by_winding == 1
        assert found.shared > 1e-4


@pytest.mark.slow
def test_a_ball_in_a_cup_of_a_mesh_that_is_refused():
    shell = trimesh.util.concatenate([CUBE, trimesh.creation.icosphere(3, 1.0 - 1e-3).copy()])
    shell.faces[len(CUBE.faces) :] = shell.faces[len(CUBE.faces) :, ::-1]
    hollow = lying(shell, (0, 0, 0), refused=True)
    inner = lying(trimesh.creation.icosphere(3, 0.98), (0, 0, 0))
    assert verify([hollow, inner]).shared == 0
    assert verify([hollow, lying(BALL, (0, 0, 0.1))]).shared > 1e-3


def test_distances_and_ends_are_told():
    found = verify([lying(CUBE, (0, 0, 0)), lying(CUBE, (2.5, 0, 1), refused=True)], near=1.0)
    np.testing.assert_allclose(found.least_gap, 0.5, rtol=1e-9)
    np.testing.assert_allclose(found.low, [-1, -1, -1])
    np.testing.assert_allclose(found.high, [3.5, 1, 2])
    assert found.refused == 1
