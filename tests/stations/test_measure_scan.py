"""A scan of known size, turned and dirty, is laid back and its sizes found within what it says of them."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from sagger.errors import InputError
from sagger.geometry.surface.mesh import shape
from sagger.goods.reading import Instrument
from sagger.stations import measure

trimesh = pytest.importorskip("trimesh")
SCANNER = Instrument(name="scanner", kind="length", u=1e-5, u_shared=0.0)
SCALE = np.array([1.004, 0.997, 1.009])


def _lever():
    """A plate with a boss at one end and a hole beside it: no turn fits twice."""
    plate = trimesh.creation.box((30, 12, 5))
    boss = trimesh.creation.cylinder(4, 9, sections=48).apply_translation((-10, 1, 4))
    return trimesh.util.concatenate([plate, boss.subdivide()])


def _shape(mesh):
    return shape(mesh.vertices, mesh.faces)


def _scan(mesh, seed, noise=0.01, scale=SCALE):
    rng = np.random.default_rng(seed)
    fine = mesh.subdivide_to_size(0.8)
    vertices = fine.vertices * scale + rng.normal(0, noise, fine.vertices.shape)
    turn = Rotation.random(random_state=seed).as_matrix()
    return shape(vertices @ turn.T + rng.uniform(-50, 50, 3), fine.faces)


@pytest.mark.slow
def test_sizes_are_found_whatever_way_the_piece_was_scanned():
    asked, off = _shape(_lever()), []
    for seed in range(3):
        found = measure.lay(_scan(_lever(), seed), asked, SCANNER)
        off.append((found.scale - SCALE) / found.scale_u)
        np.testing.assert_allclose(found.scale, SCALE, atol=6e-4, rtol=0)
        assert (found.scale_u < 5e-4).all() and found.left_out < 0.01
    assert np.abs(off).max() < 4.0 and np.sqrt(np.mean(np.square(off))) < 2.0


@pytest.mark.slow
def test_a_dent_stands_in_the_field_and_its_place_is_right():
    mesh = _lever().subdivide_to_size(0.5)
    inside = (np.linalg.norm(mesh.vertices - [10, 0, 2.5], axis=1) < 3) & (mesh.vertices[:, 2] > 2.49)
    dented = mesh.copy()
    dented.vertices[inside, 2] -= 0.3
    found = measure.lay(_scan(dented, 5, noise=0.005, scale=1.0), _shape(_lever()), SCANNER)
    there = np.linalg.norm(found.points_mm - [10, 0, 2.3], axis=1) < 2
    np.testing.assert_allclose(found.deviation_mm[there], -0.3, atol=0.04, rtol=0)
    elsewhere = np.linalg.norm(found.points_mm - [10, 0, 2.5], axis=1) > 5
    assert np.sqrt(np.mean(found.deviation_mm[elsewhere] ** 2)) < 0.02
    assert (found.u_mm >= 0.01).all() and (found.u_mm < 0.03).all()


@pytest.mark.slow
def test_a_cube_has_no_axes_unless_it_lies_as_filed():
    cube = trimesh.creation.box((10, 10, 10))
    asked = _shape(cube)
    with pytest.raises(InputError, match="swap axes"):
        measure.lay(_scan(cube, 1), asked, SCANNER)
    fine = cube.subdivide_to_size(0.8)
    straight = shape(fine.vertices * SCALE + [5, 5, 5], fine.faces)
    found = measure.lay(straight, asked, SCANNER, as_filed=True)
    np.testing.assert_allclose(found.scale, SCALE, atol=2e-4, rtol=0)


@pytest.mark.slow
def test_another_part_is_refused():
    asked = _shape(_lever())
    other = _shape(trimesh.creation.icosphere(2, 40))
    with pytest.raises(InputError, match="another part"):
        measure.lay(other, asked, SCANNER)
    with pytest.raises(InputError, match="no surface"):
        measure.lay(shape(np.zeros((0, 3)), np.zeros((0, 3))), asked, SCANNER)
