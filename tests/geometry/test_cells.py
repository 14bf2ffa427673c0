"""A shape cut into cells keeps its volume, its centre and its gaps."""

import numpy as np
import pytest
import trimesh

from sagger.errors import InputError
from sagger.geometry.cells import cutting
from sagger.goods.shape import Shape


def shape(mesh):
    return Shape(vertices=np.asarray(mesh.vertices), triangles=np.asarray(mesh.faces, np.int32))


def volume(cut):
    return (cut.full.sum() + cut.share.sum()) * cut.pitch_mm**3


@pytest.mark.parametrize("shift", [(0.0, 0.0, 0.0), (0.3, 0.7, 0.2)])
def test_volume_of_boxes_is_resolved_to_a_36th_of_a_cell(shift):
    cut = cutting.cells(shape(trimesh.creation.box((10, 7, 4))), 0.9, shift)
    np.testing.assert_allclose(volume(cut), 280, rtol=0.9 / 36 / 4)
    assert cut.leaks == 0


def test_volume_of_a_turned_body_agrees_with_its_mesh():
    body = trimesh.creation.icosphere(4, 5.0)
    np.testing.assert_allclose(volume(cutting.cells(shape(body), 0.5)), body.volume, rtol=1e-3)


def test_centre_of_a_body_agrees_with_its_mesh():
    body = trimesh.creation.cone(4, 9)
    cut = cutting.cells(shape(body), 0.4)
    middles = np.argwhere(cut.full) + 0.5, cut.cut[cut.owner[:, 0]] + (cut.mean + 1) / 2
    weights = np.concatenate([np.ones(len(middles[0])), cut.share])
    centre = cut.origin_mm + cut.pitch_mm * np.average(np.concatenate(middles), axis=0, weights=weights)
    np.testing.assert_allclose(centre, body.center_mass, atol=0.005)


def test_two_walls_in_one_cell_are_two_pieces_with_exact_volumes():
    walls = trimesh.util.concatenate(
        [trimesh.creation.box(bounds=[[x, 0, 0], [x + 1, 3, 3]]) for x in (0.0, 1.4)]
    )
    cut = cutting.cells(shape(walls), 0.5, (0.1, 0.0, 0.0))
    both = np.bincount(cut.owner[:, 0]) == 2
    assert both.sum() == 36
    shares = np.sort(cut.share[both[cut.owner[:, 0]]])
    np.testing.assert_allclose([shares[0], shares[-1]], 0.1, atol=1 / 36)


def test_an_open_surface_is_told():
    body = trimesh.creation.box((4, 4, 4))
    body.update_faces(np.arange(12) != np.argmax(body.face_normals[:, 2]))
    assert cutting.cells(shape(body), 0.5).leaks > 100


def test_a_grid_beyond_all_measure_is_refused():
    with pytest.raises(InputError, match="too fine"):
        cutting.cells(shape(trimesh.creation.box((100, 100, 100))), 0.1)


@pytest.mark.slow
@pytest.mark.parametrize("count", [1000, 20000])
def test_pitch_gives_about_the_cells_asked_for(count):
    body = trimesh.creation.annulus(12, 15, 20)
    cut = cutting.cells(shape(body), cutting.pitch_for(shape(body), count, body.volume))
    assert 0.7 < (cut.full.sum() + len(cut.cut)) / count < 1.3
