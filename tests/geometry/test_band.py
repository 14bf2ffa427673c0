"""The face under a triangle: grown over smooth edges and fitted, on parts whose faces are known."""

import runpy
from pathlib import Path
from types import SimpleNamespace

import manifold3d
import numpy as np
import pytest
import shapely
import trimesh

from sagger.geometry.surface import band, links, mesh

shapes = SimpleNamespace(**runpy.run_path(str(Path(__file__).parents[1] / "part_shapes.py")))
SOLID = manifold3d.Manifold


def single(body):
    """As an STL file would hold it."""
    return mesh.shape(body.vertices.astype(np.float32).astype(float), body.triangles)


@pytest.fixture(scope="module")
def housing():
    """A block 40 x 30 x 12, a bore 8 cut aslant at its top, a pin 10, a countersink, a dimple of radius 6."""
    block = SOLID.cube((40, 30, 12)) - SOLID.cylinder(30, 4, 4, 64).translate((12, 20, -4))
    block += SOLID.cylinder(5, 5, 5, 96).translate((30, 22, 11))
    block -= SOLID.cylinder(3, 1.5, 4.5, 80).translate((32, 8, 9.0001))
    block -= SOLID.sphere(6, 64).translate((12, 6, 15))
    wedge = SOLID.cube((80, 80, 20)).rotate((0, 12, 0)).translate((-2, 12, 12.5))
    return links.linked(single(shapes.of(block - wedge.trim_by_plane((-1, 0, 0), -22))))


def clicked(on, at, facing):
    """The face that a click near a place hits, looking against `facing`."""
    middles = on.corners.mean(axis=1)
    looks = on.normals @ np.asarray(facing, float) > 0.5
    distance = np.linalg.norm(middles - np.asarray(at, float), axis=1)
    return band.grown(on, int(np.flatnonzero(looks)[np.argmin(distance[looks])]))


def test_a_bore_is_whole_and_its_diameter_holds_to_a_micrometre(housing):
    face = clicked(housing, (16, 20, 6), (-1, 0, 0))
    assert face.kind == "bore" and face.turn == 1.0
    np.testing.assert_allclose(face.diameter, 8.0, atol=1e-3)
    np.testing.assert_allclose(face.at[:2], (12, 20), atol=1e-3)
    np.testing.assert_allclose(np.abs(face.along), (0, 0, 1), atol=1e-5)
    assert face.off < 1e-3
    own = np.hypot(*(housing.corners - (12, 20, 0))[..., :2].transpose(2, 0, 1)).max(axis=1) < 4.001
    upright = np.abs(housing.normals[:, 2]) < 0.5
    assert set(face.triangles) == set(np.flatnonzero(own & upright))


def test_a_pin_a_plane_a_cone_and_a_sphere_are_told_apart(housing):
    pin = clicked(housing, (35, 22, 14), (1, 0, 0))
    assert pin.kind == "pin"
    np.testing.assert_allclose(pin.diameter, 10.0, atol=1e-3)
    plane = clicked(housing, (40, 15, 6), (1, 0, 0))
    assert plane.kind == "plane" and plane.diameter == 0
    np.testing.assert_allclose(plane.along, (1, 0, 0), atol=1e-9)
    assert clicked(housing, (34.6, 8, 10.1), (-1, 0, 1)).kind == "cone"
    ball = clicked(housing, (12, 6, 9), (0, 0, 1))
    assert ball.kind == "sphere"
    np.testing.assert_allclose(ball.diameter, 12.0, atol=0.02)


def test_every_click_on_the_bore_gives_the_same_face(housing):
    face = clicked(housing, (16, 20, 6), (-1, 0, 0))
    for facet in face.triangles[:: max(1, len(face.triangles) // 12)]:
        again = band.grown(housing, int(facet))
        assert set(again.triangles) == set(face.triangles)
        assert abs(again.diameter - face.diameter) < 1e-3


def test_an_octagon_is_eight_planes():
    on = links.linked(single(shapes.of(SOLID.cylinder(10, 5, 5, 8))))
    assert clicked(on, (5, 0, 5), (1, 0, 0)).kind == "plane"


def test_a_fillet_whose_one_half_lies_off_keeps_its_round_radius():
    """Rims of a drawing's fillets are splines: some micrometres off over a part of the arc."""
    angles = np.radians(np.linspace(0, 90, 23))
    outline = [*zip(5 - 5 * np.cos(angles), 5 - 5 * np.sin(angles), strict=True), (5.0, -20.0), (-20.0, 5.0)]
    off = np.where(angles < np.radians(30), 1.8e-3 * np.sin(6 * angles), 0.0)
    points = np.array(outline)
    points[:23] -= off[:, None] * np.stack([-np.cos(angles), -np.sin(angles)], axis=1)
    body = trimesh.creation.extrude_polygon(shapely.Polygon(points), 60)
    on = links.linked(single(mesh.shape(body.vertices, body.faces)))
    middle = np.argmin(np.linalg.norm(on.corners.mean(axis=1)[:, :2] - (1.46, 1.46), axis=1))
    face = band.grown(on, int(middle))
    assert face.kind in ("bore", "pin")
    np.testing.assert_allclose(face.diameter, 10.0, atol=1e-6)
    assert 1e-3 < face.off < 3e-3


def test_a_facet_of_a_free_form_is_none():
    body = trimesh.creation.icosphere(4, 10.0)
    x, y, z = body.vertices.T
    wavy = np.stack([x * (1 + 0.3 * np.sin(z / 3)), y * 0.6, z * (1 + 0.2 * np.cos(x / 4))], axis=1)
    on = links.linked(single(mesh.shape(wavy, body.faces)))
    kinds = [band.grown(on, facet) for facet in range(0, len(on.areas), 400)]
    assert sum(face is None for face in kinds) >= 0.8 * len(kinds)


def test_a_torus_is_no_cylinder_and_no_cone():
    body = trimesh.creation.torus(20, 4, major_sections=96, minor_sections=48)
    on = links.linked(single(mesh.shape(body.vertices, body.faces)))
    kinds = {face and face.kind for face in (band.grown(on, facet) for facet in range(0, len(on.areas), 701))}
    assert not kinds & {"bore", "pin", "plane"}
