"""Drops of a cut against geometry known by formula, and against a general rasteriser."""

import numpy as np
import pytest
import shapely
import trimesh
from rasterio.features import rasterize

from sagger.geometry import raster

NM = 1_000_000


def drawn(mesh, at_mm, height_mm, *, dpi=(1200, 1200), size=(900, 900), linear=None, phase=(0.0, 0.0)):
    """One plane of one mesh that is placed at `at_mm`."""
    placement = np.eye(4)
    placement[:3, :3] = np.eye(3) if linear is None else linear
    placement[:3, 3] = at_mm
    pitch = (25.4 / dpi[0], 25.4 / dpi[1])
    scene = raster.scene(
        [(np.asarray(mesh.vertices), np.asarray(mesh.faces, np.int32))], [(0, placement)], pitch, 0.05
    )
    return raster.draw(scene, round(height_mm * NM), phase, *size, raster.Scratch())


def area(result, dpi=(1200, 1200)):
    return result.drops * (25.4 / dpi[0]) * (25.4 / dpi[1])


@pytest.mark.parametrize("height", [1.0, 4.5, 7.3, 9.9])
def test_sphere_sections_are_discs(height):
    ball = trimesh.creation.icosphere(subdivisions=5, radius=8)
    result = drawn(ball, (9.3, 9.1, 8), height)
    np.testing.assert_allclose(result.area_mm2, np.pi * (64 - (height - 8) ** 2), rtol=2e-3)  # facets
    np.testing.assert_allclose(area(result), result.area_mm2, rtol=2e-4)


@pytest.mark.slow
@pytest.mark.parametrize("height", [0.4, 2.2, 3.05])
def test_torus_sections_are_rings(height):
    body = trimesh.creation.torus(6, 2.5, major_sections=512, minor_sections=512)
    result = drawn(body, (9.3, 9.1, 2.5), height)
    expected = 4 * np.pi * 6 * np.sqrt(2.5**2 - (height - 2.5) ** 2)
    np.testing.assert_allclose(result.area_mm2, expected, rtol=2e-4)
    np.testing.assert_allclose(area(result), result.area_mm2, rtol=2e-4)


@pytest.mark.parametrize("lying", [False, True])
def test_cylinder_sections_are_discs_or_strips(lying):
    body = trimesh.creation.cylinder(radius=4, height=11, sections=2048)
    tilt = np.array([[0, 0, 1.0], [0, 1, 0], [-1, 0, 0]])
    result = drawn(body, (9.3, 9.1, 5.5), 6.5, linear=tilt if lying else None)
    expected = 11 * 2 * np.sqrt(16 - 1) if lying else np.pi * 16
    np.testing.assert_allclose(result.area_mm2, expected, rtol=1e-5)
    perimeter_drops = (22 + 8 if lying else 8 * np.pi) * 1200 / 25.4
    assert abs(area(result) - result.area_mm2) < 0.5 * perimeter_drops * (25.4 / 1200) ** 2


@pytest.mark.parametrize("dpi", [(1200, 1200), (400, 400), (1200, 400), (600, 800)])
def test_drops_sum_to_the_volume(dpi):
    ball = trimesh.creation.icosphere(subdivisions=4, radius=5)
    placement = np.eye(4)
    placement[:3, 3] = 6.1, 6.2, 5
    pitch = (25.4 / dpi[0], 25.4 / dpi[1])
    scene = raster.scene([(ball.vertices, ball.faces)], [(0, placement)], pitch, 0.05)
    scratch, total, exact = raster.Scratch(), 0, 0.0
    for k in range(200):
        result = raster.draw(scene, 50_000 * k + 25_000, (0.0, 0.0), 700, 700, scratch)
        total, exact = total + result.drops, exact + result.area_mm2
        assert result.leaks == 0
    np.testing.assert_allclose(exact * 0.05, ball.volume, rtol=1e-4)  # Cavalieri, midpoint rule
    np.testing.assert_allclose(total * pitch[0] * pitch[1] * 0.05, ball.volume, rtol=2e-4)


def walls(polygon, height=2.0):
    """Side walls of a prism over a polygon: enough of it for a cut half way up."""
    quads = []
    for ring in (polygon.exterior, *polygon.interiors):
        at = np.asarray(ring.coords)
        low, high = np.c_[at, np.zeros(len(at))], np.c_[at, np.full(len(at), height)]
        quads += [(low[i], low[i + 1], high[i + 1], high[i]) for i in range(len(at) - 1)]
    corners = np.array(quads).reshape(-1, 3)
    first = 4 * np.arange(len(quads))[:, None]
    faces = np.concatenate([first + np.array(corner) for corner in ([0, 1, 2], [0, 2, 3])])
    return trimesh.Trimesh(corners, faces, process=False)


def star(points, inner, outer, seed):
    rng = np.random.default_rng(seed)
    angle = np.sort(rng.uniform(0, 2 * np.pi, points))
    radius = rng.uniform(inner, outer, points)
    hole = shapely.Point(0.1, -0.2).buffer(inner * 0.7)
    shape = shapely.Polygon(np.c_[radius * np.cos(angle), radius * np.sin(angle)])
    return shapely.orient_polygons(shape.difference(hole))


@pytest.mark.parametrize("dpi", [(1200, 1200), (400, 400), (1200, 400)])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_drops_equal_a_general_rasteriser(dpi, seed):
    # GDAL through rasterio burns a pixel whose centre lies inside: the same rule, another code.
    polygon = star(200, 2.0, 6.0, seed)
    result = drawn(walls(polygon), (7.03, 7.01, 0), 1.0, dpi=dpi, size=(700, 720))
    scale = dpi[0] / 25.4, dpi[1] / 25.4
    moved = shapely.transform(polygon, lambda xy: (xy + np.array([7.03, 7.01])) * scale)
    expected = rasterize([moved], out_shape=(720, 700), dtype="uint8")
    assert np.count_nonzero(raster.image(result.runs) != expected.astype(bool)) == 0
    assert result.drops == expected.sum(dtype=int) > 1000


def test_coplanar_faces_give_the_area_from_below():
    block = trimesh.creation.box(extents=(4, 4, 4))
    assert drawn(block, (5, 5, 2), 0.0).drops == 0
    np.testing.assert_allclose(drawn(block, (5, 5, 2), 4.0).area_mm2, 16, rtol=1e-12)


def test_planes_through_vertices_do_not_leak():
    octahedron = trimesh.creation.icosphere(subdivisions=0, radius=4)
    ball = trimesh.creation.icosphere(subdivisions=3, radius=4)
    for mesh in (octahedron, ball):
        for height in np.unique(np.round(mesh.vertices[:, 2], 6)):
            result = drawn(mesh, (5, 5, 0), height)
            assert result.leaks == 0
            assert result.area_mm2 >= 0


def test_whole_drop_shifts_move_the_drops_and_nothing_else():
    body = trimesh.creation.torus(3, 1.2)
    base = raster.image(drawn(body, (5, 5, 1.2), 1.0).runs)
    pitch = 25.4 / 1200
    moved = raster.image(drawn(body, (5 + 37 * pitch, 5 + 11 * pitch, 1.2), 1.0).runs)
    np.testing.assert_array_equal(np.roll(base, (11, 37), axis=(0, 1)), moved)


def test_shapes_beyond_the_edges_are_clipped():
    block = trimesh.creation.box(extents=(100, 4, 4))
    result = drawn(block, (5, 0, 2), 1.0, size=(300, 200))
    assert result.drops == 300 * round(2 / (25.4 / 1200))
    assert result.leaks == 0


def test_runs_and_images_are_two_forms_of_one_thing():
    image = np.random.default_rng(4).random((23, 61)) < 0.4
    drops = raster.from_image(image)
    np.testing.assert_array_equal(raster.image(drops), image)
    assert raster.count(drops) == image.sum()


SHELLS = {
    "cavity": (["ball 6", "ball 4 inward"], 6**3 - 4**3),
    "solid in a cavity": (["ball 6", "ball 4 inward", "ball 2"], 6**3 - 4**3 + 2**3),
    "overlap counted once": (["ball 6", "ball 4"], 6**3),
    "the same shell twice": (["ball 6", "ball 6"], 6**3),
    "inside out": (["ball 6 inward"], 6**3),
}


@pytest.mark.slow
@pytest.mark.parametrize("case", SHELLS)
def test_shells_by_winding(case):
    names, cubes = SHELLS[case]
    parts = []
    for name in names:
        ball = trimesh.creation.icosphere(subdivisions=4, radius=float(name.split()[1]))
        if name.endswith("inward"):
            ball.invert()
        parts.append(ball)
    whole = trimesh.util.concatenate(parts)
    unit = trimesh.creation.icosphere(subdivisions=4, radius=1.0).volume
    total = sum(
        drawn(whole, (7, 7, 6), 0.1 + 0.2 * k, dpi=(300, 300), size=(180, 180)).drops for k in range(60)
    )
    np.testing.assert_allclose(total * (25.4 / 300) ** 2 * 0.2, cubes * unit, rtol=3e-3)


@pytest.mark.slow
def test_a_dense_lattice_in_any_order_is_drawn_right():
    rng = np.random.default_rng(8)
    bars = [trimesh.creation.box(extents=(0.03, 4, 4)) for _ in range(300)]
    for n, place in enumerate(rng.permutation(300)):
        bars[n].apply_translation((0.204 + 0.06 * place, 5, 2))
    whole = trimesh.util.concatenate(bars)
    result = drawn(whole, (0, 0, 0), 1.0, dpi=(2540, 300), size=(2000, 130))
    rows = np.count_nonzero(np.diff(result.runs.start))
    assert rows in (47, 48)  # 4 mm at 300 dpi
    assert result.drops == 300 * 3 * rows
