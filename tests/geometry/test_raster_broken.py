"""Broken meshes: bridged, counted, and never a stripe."""

import numpy as np
import pytest
import trimesh

from sagger.geometry import raster


def plane_of(vertices, faces, copies=((8.2, 8.1),), height_nm=2_025_000):
    placements = []
    for x, y in copies:
        placement = np.eye(4)
        placement[:3, 3] = x, y, 3
        placements.append((0, placement))
    pitch = (25.4 / 600, 25.4 / 600)
    scene = raster.scene([(vertices, np.asarray(faces, np.int32))], placements, pitch, 0.05)
    return raster.draw(scene, height_nm, (0.0, 0.0), 1000, 400, raster.Scratch())


def body():
    return trimesh.creation.torus(5, 3, major_sections=160, minor_sections=120)


def differing(first, second):
    return np.count_nonzero(raster.image(first.runs) != raster.image(second.runs)) / second.drops


def harmed(kind, share, mesh, seed=3):
    rng = np.random.default_rng(seed)
    vertices, faces = np.asarray(mesh.vertices), np.array(mesh.faces)
    hit = rng.random(len(faces)) < share
    if kind == "deleted":
        return vertices, faces[~hit]
    if kind == "flipped":
        faces[hit] = faces[hit][:, ::-1]
        return vertices, faces
    if kind == "doubled":
        return vertices, np.vstack([faces, faces[hit]])
    raise ValueError(kind)


# The limit is that of the working notes on layers: 0.05 % of the section after 5 % of the triangles went.
@pytest.mark.parametrize(("kind", "share"), [("deleted", 0.001), ("deleted", 0.01), ("deleted", 0.05)])
def test_missing_triangles_are_bridged(kind, share):
    whole, broken = plane_of(*harmed(kind, 0, body())), plane_of(*harmed(kind, share, body()))
    assert broken.leaks == 0
    assert differing(broken, whole) < 5e-4
    assert (broken.bridges > 0) == (broken.open_share > 0)


@pytest.mark.parametrize(("kind", "share"), [("flipped", 0.01), ("doubled", 0.05)])
def test_flipped_and_doubled_triangles_are_bridged(kind, share):
    whole, broken = plane_of(*harmed(kind, 0, body())), plane_of(*harmed(kind, share, body()))
    assert broken.leaks == 0
    assert broken.bridges > 0
    assert differing(broken, whole) < 5e-4


def test_a_mesh_all_inside_out_is_turned():
    whole, broken = plane_of(*harmed("flipped", 0, body())), plane_of(*harmed("flipped", 1, body()))
    assert differing(broken, whole) == 0


@pytest.mark.slow
def test_unwelded_triangles_are_welded():
    mesh = body()
    soup = np.asarray(mesh.triangles).reshape(-1, 3)
    welded = plane_of(soup, np.arange(len(soup)).reshape(-1, 3))
    assert (welded.bridges, welded.leaks) == (0, 0)
    assert differing(welded, plane_of(mesh.vertices, mesh.faces)) == 0


def test_no_stripe_between_two_broken_copies():
    vertices, faces = harmed("deleted", 0.3, body())
    result = plane_of(vertices, faces, copies=((8.2, 8.1), (30.2, 8.1)))
    between = raster.image(result.runs)[:, 390:510]
    assert result.bridges > 0
    assert not between.any()
    assert not raster.image(result.runs)[:, 910:].any()
