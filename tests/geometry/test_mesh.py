"""Measures and welding; trimesh is the independent reader."""

import runpy
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
import trimesh

from sagger.geometry.surface import mesh

shapes = SimpleNamespace(**runpy.run_path(str(Path(__file__).parents[1] / "part_shapes.py")))
box, of, sphere, without = shapes.box, shapes.of, shapes.sphere, shapes.without


def test_sizes_agree_with_trimesh():
    solid = trimesh.creation.torus(20, 4)
    shape = of(solid)
    np.testing.assert_allclose(mesh.volume(shape), solid.volume, rtol=1e-12)
    np.testing.assert_allclose(mesh.area(shape), solid.area, rtol=1e-12)
    np.testing.assert_allclose(mesh.extent(shape), solid.extents, rtol=1e-12)


def test_volume_does_not_care_where_the_part_lies():
    np.testing.assert_allclose(mesh.volume(box(2, 3, 4, at=(1e5, -1e5, 1e5))), 24, rtol=1e-9)


def test_an_inside_out_surface_has_negative_volume():
    shape = box(2, 3, 4)
    np.testing.assert_allclose(
        mesh.volume(mesh.shape(shape.vertices, shape.triangles[:, ::-1])), -24, rtol=1e-12
    )


def test_a_mirror_keeps_the_surface_facing_out():
    np.testing.assert_allclose(mesh.volume(mesh.mapped(box(2, 3, 4), np.diag([-1, 1, 2]))), 48, rtol=1e-12)


def test_welding_a_soup_gives_the_solid_back():
    solid = sphere()
    soup = mesh.shape(mesh.corners(solid).reshape(-1, 3), np.arange(3 * len(solid.triangles)).reshape(-1, 3))
    assert len(mesh.open_edges(soup)) == 3 * len(soup.triangles)
    assert len(mesh.welded(soup).vertices) == len(solid.vertices)
    assert not len(mesh.open_edges(mesh.welded(soup)))


def test_minus_zero_is_zero():
    shape = mesh.shape(
        np.array([[0.0, 0, 0], [-0.0, 0, 0], [1, 0, 0], [0, 1, 0]]), np.array([[0, 2, 3], [1, 3, 2]])
    )
    assert len(mesh.welded(shape).vertices) == 3


def test_only_open_edges_are_welded_within_a_tolerance():
    near = mesh.merged([box(1, 1, 1), box(1, 1, 1, at=(1.0001, 0, 0))])
    assert len(mesh.welded_within(near, 0.01).vertices) == 16
    torn = mesh.merged([without(box(1, 1, 1), 0), box(1, 1, 1, at=(1.0001, 0, 0))])
    assert len(mesh.open_edges(mesh.welded_within(torn, 0.01))) == 3


def test_an_edge_says_how_often_it_is_walked():
    seams = mesh.edges(box(1, 1, 1).triangles)
    assert len(seams.ends) == 18
    assert (seams.sides == 2).all()
    assert not seams.net.any()


@pytest.mark.parametrize("shift", [0, 1, 2])
def test_a_double_goes_and_a_mirror_image_cancels(shift):
    one = box(1, 1, 1)
    again = np.roll(one.triangles[:1], shift, axis=1)
    twice = mesh.shape(one.vertices, np.concatenate([one.triangles, again]))
    assert len(mesh.without_doubles(twice).triangles) == 12
    np.testing.assert_allclose(mesh.volume(mesh.without_doubles(twice)), 1, rtol=1e-12)
    folded = mesh.shape(one.vertices, np.concatenate([one.triangles, again[:, ::-1]]))
    assert len(mesh.without_doubles(folded).triangles) == 11
