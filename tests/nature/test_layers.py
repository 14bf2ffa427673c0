"""What holds of drops whatever the shape: tiling, shifts, turns, mirrors, volume."""

import numpy as np
import pytest
import shapely
import trimesh
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from sagger.geometry import raster
from sagger.geometry.raster.algebra import both, either

PITCH = (25.4 / 300, 25.4 / 400)
COLUMNS, ROWS = 200, 260
seeds = st.integers(0, 10_000)


def runs_of(vertices, faces, placement=None, height_nm=1_000_000):
    placement = np.eye(4) if placement is None else placement
    scene = raster.scene(
        [(np.asarray(vertices, float), np.asarray(faces, np.int32))], [(0, placement)], PITCH, 0.05
    )
    return raster.draw(scene, height_nm, (0.0, 0.0), COLUMNS, ROWS, raster.Scratch())


def walls(rings):
    """Side walls, 2 mm high, over closed rings of places [mm]."""
    corners, faces = [], []
    for ring in rings:
        for a, b in zip(ring, np.roll(ring, -1, axis=0), strict=True):
            n = len(corners)
            corners += [[*a, 0], [*b, 0], [*b, 2], [*a, 2]]
            faces += [[n, n + 1, n + 2], [n, n + 2, n + 3]]
    return np.array(corners), np.array(faces)


def turned_over(body):
    """The very same triangles seen from the other side. A wall cut along its other diagonal is split at other
    places, and a rounded place beside a line through the middles of drops may fall on either side of it.
    """
    corners, faces = body
    return corners, faces[:, ::-1]


def joined(one, other):
    return np.vstack([one[0], other[0]]), np.vstack([one[1], other[1] + len(one[0])])


def ring(seed, on_lattice):
    """Star-shaped ring; some of its corners on the middles of drops, where rounding rules show."""
    rng = np.random.default_rng(seed)
    angle = np.sort(rng.uniform(0, 2 * np.pi, 24))
    radius = rng.uniform(1.5, 6, 24)
    at = np.c_[radius * np.cos(angle), radius * np.sin(angle)] + [8.0, 8.0]
    if on_lattice:
        at = (np.floor(at / PITCH) + 0.5) * PITCH
    return at


@pytest.mark.slow
@settings(max_examples=40, deadline=None)
@given(seeds, st.booleans())
def test_a_shape_and_what_is_left_of_its_box_tile(seed, on_lattice):
    box = np.array([(0.5, 0.5), (15.5, 0.5), (15.5, 15.5), (0.5, 15.5)])
    inner = ring(seed, on_lattice)
    # Moved onto the lattice, one ring in sixty runs through itself or folds back onto its own edge.
    outline = shapely.Polygon(inner)
    assume(outline.is_valid and outline.minimum_clearance > 1e-3)
    shape = runs_of(*walls([inner])).runs
    rest = runs_of(*joined(walls([box]), turned_over(walls([inner])))).runs
    whole = runs_of(*walls([box])).runs
    assert raster.count(both(shape, rest)) == 0
    np.testing.assert_array_equal(raster.image(either(shape, rest)), raster.image(whole))


@pytest.mark.slow
@settings(max_examples=25, deadline=None)
@given(seeds, st.integers(-15, 15), st.integers(-15, 15), st.integers(0, 20))
def test_whole_drops_and_layers_move_the_drops_only(seed, across, along, up):
    body = trimesh.creation.torus(3, 1.3, major_sections=24, minor_sections=12)
    vertices = body.vertices + np.random.default_rng(seed).uniform(6, 6.05, 3)
    moved = np.eye(4)
    moved[:3, 3] = across * PITCH[0], along * PITCH[1], up * 0.05
    before = runs_of(vertices, body.faces, height_nm=6_100_000)
    after = runs_of(vertices, body.faces, moved, 6_100_000 + up * 50_000)
    image = np.roll(raster.image(before.runs), (along, across), axis=(0, 1))
    np.testing.assert_array_equal(image, raster.image(after.runs))


@settings(max_examples=25, deadline=None)
@given(seeds, st.floats(0, 360), st.booleans())
def test_turns_and_mirrors_keep_the_section(seed, degrees, mirrored):
    body = trimesh.creation.icosphere(subdivisions=2, radius=4)
    body.vertices *= np.random.default_rng(seed).uniform(0.5, 1.2, 3)
    turn = trimesh.transformations.rotation_matrix(np.radians(degrees), [0, 0, 1])
    if mirrored:
        turn[:3, :3] = turn[:3, :3] @ np.diag([-1.0, 1, 1])
    turn[:3, 3] = 8, 8, 1.5
    plain = np.eye(4)
    plain[:3, 3] = 8, 8, 1.5
    first, second = (runs_of(body.vertices, body.faces, at) for at in (plain, turn))
    np.testing.assert_allclose(second.area_mm2, first.area_mm2, rtol=1e-9)
    assert first.leaks == second.leaks == 0
    np.testing.assert_allclose(second.drops * PITCH[0] * PITCH[1], first.area_mm2, rtol=0.02)


@pytest.mark.slow
@settings(max_examples=10, deadline=None)
@given(seeds)
def test_layers_sum_to_the_volume(seed):
    rng = np.random.default_rng(seed)
    body = trimesh.creation.icosphere(subdivisions=3, radius=3)
    body.vertices = body.vertices * rng.uniform(0.7, 1.3, 3) + [8, 8, 4]
    scene = raster.scene([(body.vertices, np.asarray(body.faces, np.int32))], [(0, np.eye(4))], PITCH, 0.05)
    phases = rng.uniform(-0.5, 0.5, (160, 2))
    drawn = [
        raster.draw(scene, 50_000 * k + 25_000, tuple(phases[k]), COLUMNS, ROWS, raster.Scratch())
        for k in range(160)
    ]
    volume = sum(layer.drops for layer in drawn) * PITCH[0] * PITCH[1] * 0.05
    np.testing.assert_allclose(volume, body.volume, rtol=1e-3)
    np.testing.assert_allclose(sum(layer.area_mm2 for layer in drawn) * 0.05, body.volume, rtol=5e-4)
