"""Broken surfaces made whole; the volume before they were broken is the truth."""

import runpy
from pathlib import Path
from types import SimpleNamespace

import manifold3d
import numpy as np
import pytest
import trimesh

from sagger.geometry.surface import holes, mesh, shells
from sagger.geometry.surface.crossings import crossings
from sagger.geometry.surface.heal import heal

shapes = SimpleNamespace(**runpy.run_path(str(Path(__file__).parents[1] / "part_shapes.py")))
box, of, sphere, turned, without = shapes.box, shapes.of, shapes.sphere, shapes.turned, shapes.without


@pytest.mark.slow
def test_a_sound_solid_is_left_as_it_is():
    healed = heal(sphere())
    assert healed.notes == ()
    assert healed.manifold
    np.testing.assert_allclose(mesh.volume(healed.shape), mesh.volume(sphere()), rtol=1e-14)


@pytest.mark.slow
def test_missing_triangles_are_put_back():
    rng = np.random.default_rng(1)
    torn = without(sphere(), *rng.choice(5120, 30, replace=False))
    healed = heal(torn)
    assert healed.open_edges == 0
    assert healed.manifold
    np.testing.assert_allclose(mesh.volume(healed.shape), mesh.volume(sphere()), rtol=1e-3)


@pytest.mark.slow
def test_flipped_triangles_are_turned_back():
    rows = np.random.default_rng(2).choice(5120, 900, replace=False)
    healed = heal(turned(sphere(), rows))
    assert "900 triangles turned" in healed.notes[0]
    np.testing.assert_allclose(mesh.volume(healed.shape), mesh.volume(sphere()), rtol=1e-14)


def test_an_inside_out_solid_is_turned_out():
    healed = heal(turned(sphere(), slice(None)))
    assert healed.notes == ("1 inside-out shell turned out",)
    assert mesh.volume(healed.shape) > 0


def test_doubled_and_collapsed_triangles_go():
    shape = sphere()
    extra = np.concatenate([shape.triangles, shape.triangles[:50], [[0, 0, 1], [2, 3, 3]]])
    healed = heal(mesh.shape(shape.vertices, extra))
    assert healed.notes == ("2 collapsed triangles dropped", "50 double triangles dropped")
    assert healed.manifold


@pytest.mark.slow
def test_a_seam_that_gapes_by_rounding_is_welded():
    shape = sphere()
    soup = mesh.corners(shape) + np.random.default_rng(3).normal(0, 1e-6, (len(shape.triangles), 3, 3))
    healed = heal(mesh.shape(soup.reshape(-1, 3), np.arange(soup.size // 3).reshape(-1, 3)))
    assert healed.open_edges == 0
    np.testing.assert_allclose(mesh.volume(healed.shape), mesh.volume(shape), rtol=1e-6)


@pytest.mark.slow
def test_a_lone_triangle_is_dropped():
    stray = mesh.shape(np.array([[50.0, 0, 0], [51, 0, 0], [50, 1, 0]]), np.array([[0, 1, 2]]))
    healed = heal(mesh.merged([sphere(), stray]))
    assert healed.notes == ("1 loose triangle dropped",)
    assert mesh.extent(healed.shape)[0] < 21


def test_a_missing_flat_face_is_closed_whatever_its_width():
    long = box(100, 10, 10)
    end = np.flatnonzero((long.vertices[long.triangles][:, :, 0] > 49).all(axis=1))
    healed = heal(without(long, *end))
    np.testing.assert_allclose(mesh.volume(healed.shape), 1e4, rtol=1e-12)
    np.testing.assert_allclose(healed.widest_mm, np.sqrt(200), rtol=1e-12)


def test_half_a_sphere_stays_open():
    half = without(sphere(), *range(2560))
    healed = heal(half)
    assert healed.open_edges > 0
    assert healed.open_wide > 0
    assert not healed.manifold


@pytest.mark.slow
@pytest.mark.parametrize("inner, turned_in", [(sphere(5), 1), (turned(sphere(5), slice(None)), 0)])
def test_a_shell_in_a_shell_is_a_cavity_whichever_way_it_faces(inner, turned_in):
    healed = heal(mesh.merged([sphere(10), inner]))
    truth = mesh.volume(sphere(10)) - mesh.volume(sphere(5))
    np.testing.assert_allclose(mesh.volume(healed.shape), truth, rtol=1e-12)
    assert healed.turned_in == turned_in


@pytest.mark.slow
def test_a_solid_in_a_cavity_in_a_solid_is_solid():
    healed = heal(mesh.merged([sphere(10), sphere(7), sphere(3)]))
    assert sorted(healed.shells.depth) == [0, 1, 2]
    truth = mesh.volume(sphere(10)) - mesh.volume(sphere(7)) + mesh.volume(sphere(3))
    np.testing.assert_allclose(mesh.volume(healed.shape), truth, rtol=1e-12)


def test_overlapping_solids_become_one():
    healed = heal(mesh.merged([box(10, 10, 10), box(10, 10, 10, at=(5.5, 2.5, 1.5))]))
    np.testing.assert_allclose(mesh.volume(healed.shape), 2000 - 4.5 * 7.5 * 8.5, rtol=1e-9)
    assert healed.crossing == 0
    assert "2 overlapping solids joined" in healed.notes[0]


def test_solids_that_touch_do_not_cross():
    assert not len(crossings(mesh.merged([box(1, 1, 1), box(1, 1, 1, at=(1, 0, 0))])))


def test_every_crossing_of_two_tubes_is_found():
    tube = manifold3d.Manifold.cylinder(20, 3, 3, 24, True)
    crossed = mesh.merged([of(tube), of(tube.rotate((90, 7, 0)))])
    assert len(crossings(crossed)) > 20


def test_a_solid_that_crosses_itself_is_told_not_mended():
    bow = box(10, 10, 10)
    vertices = bow.vertices.copy()
    vertices[vertices[:, 0] > 0, 1:] *= -1.0
    vertices[vertices[:, 0] > 0, 1] *= 0.5
    healed = heal(mesh.shape(vertices, bow.triangles))
    assert healed.crossing > 0


def test_a_one_sided_surface_is_told():
    around = np.linspace(0, 2 * np.pi, 24, endpoint=False)
    rim = [
        (np.cos(a) * (5 + s * np.cos(a / 2)), np.sin(a) * (5 + s * np.cos(a / 2)), s * np.sin(a / 2))
        for a in around
        for s in (-1, 1)
    ]
    quads = [(2 * k, 2 * k + 1, 2 * k + 2, 2 * k + 3) for k in range(23)] + [(46, 47, 1, 0)]
    triangles = [t for a, b, c, d in quads for t in ((a, b, c), (b, d, c))]
    _, _, conflicts = shells.wound(mesh.shape(np.array(rim), np.array(triangles)))
    assert conflicts > 0


def test_a_rim_is_walked_as_the_missing_surface_would_walk_it():
    whole = box(1, 1, 1)
    (rim,) = holes.rims(without(whole, 4))
    start = int(np.argmax(rim == whole.triangles[4, 0]))
    np.testing.assert_array_equal(np.roll(rim, -start), whole.triangles[4])


@pytest.mark.parametrize("point, turns", [((0, 0, 0), 1), ((20, 0, 0), 0), ((9, 0, 0), 1)])
def test_a_surface_winds_once_round_what_is_inside(point, turns):
    found = shells.windings(mesh.corners(sphere()), np.array([point], dtype=float))
    np.testing.assert_allclose(found, [turns], rtol=0, atol=1e-9)


@pytest.mark.parametrize(
    ("moved", "volume"), [((5, 3, 2), 3030), ((20, 0, 0), 3840), ((5, 0, 0), 2400), ((40, 0, 0), 3840)]
)
def test_solids_that_overlap_edge_on_edge_are_joined_truly(moved, volume):
    """Boxes 20 x 12 x 8: by hand 2 * 1920 less (20 - x)(12 - y)(8 - z); touching ones stay."""
    box = trimesh.creation.box((20, 12, 8))
    both = trimesh.util.concatenate([box, box.copy().apply_translation(moved)])
    healed = heal(mesh.shape(both.vertices, both.faces))
    np.testing.assert_allclose(mesh.volume(healed.shape), volume, rtol=1e-9)
    assert len(healed.notes) == (volume < 3840)
