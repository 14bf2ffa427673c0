"""Whole parts against a general rasteriser and against their volumes.

The sections come from manifold3d, the drops from GDAL through rasterio, which burns a pixel whose centre lies
inside: cut and raster are both another's code.
"""

import importlib.util
from pathlib import Path

import manifold3d
import numpy as np
import pytest
import shapely
import trimesh
from rasterio.features import rasterize

from sagger.geometry import raster
from sagger.stations.layers.press import phase

_FILE = Path(__file__).parents[2] / "benchmarks" / "layers_bed.py"
_SPEC = importlib.util.spec_from_file_location("layers_bed", _FILE)
bed = importlib.util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(bed)

PARTS = {
    "gear": (bed.gear, 5.03),
    "gyroid": (lambda: bed.gyroid(edge_mm=0.35, size_mm=12.0, cells=1), 4.71),
    "text": (bed.text, 3.3),
}


@pytest.fixture(scope="module", params=PARTS)
def part(request):
    make, height = PARTS[request.param]
    return make(), height


def section(shape, height, linear, shift):
    """Polygon of a section [mm], cut by manifold3d."""
    body = manifold3d.Manifold(manifold3d.Mesh64(np.array(shape.vertices), shape.triangles.astype(np.uint64)))
    rings = [np.vstack([ring, ring[:1]]) for ring in body.slice(height).to_polygons()]
    placed = [shapely.LineString(ring @ linear[:2, :2].T + shift) for ring in rings]
    return shapely.build_area(shapely.MultiLineString(placed))


@pytest.mark.slow
@pytest.mark.parametrize("dpi", [(1200, 1200), (400, 400), (1200, 400)])
def test_drops_of_a_part_equal_a_general_rasteriser(part, dpi):
    shape, height = part
    placement = bed.turned(17.3, (40.013, 20.027, 0.0))
    pitch = np.array([25.4 / dpi[0], 25.4 / dpi[1]])
    columns, rows = (np.array([80.0, 40.0]) / pitch).astype(int)
    scene = raster.scene([(shape.vertices, shape.triangles)], [(0, placement)], tuple(pitch), 0.05)
    plane = round(height * 1e6)
    drawn = raster.draw(scene, plane, (0.0, 0.0), int(columns), int(rows), raster.Scratch())
    polygon = section(shape, height, placement, placement[:2, 3])
    in_drops = shapely.transform(polygon, lambda xy: xy / pitch)
    expected = rasterize([in_drops], out_shape=(rows, columns), dtype="uint8").astype(bool)
    assert np.count_nonzero(raster.image(drawn.runs) != expected) == 0
    assert drawn.drops == expected.sum() > 10_000
    np.testing.assert_allclose(drawn.area_mm2, polygon.area, rtol=1e-6)


def printed_mm3(shape, *, jitter, dpi=1200, layer_mm=0.05):
    """Volume of the drops of all layers."""
    pitch = 25.4 / dpi
    reach = np.ptp(shape.vertices[:, :2], axis=0) + 2
    placement = np.eye(4)
    placement[:3, 3] = *(reach / 2 + 0.0031), 0.0
    scene = raster.scene([(shape.vertices, shape.triangles)], [(0, placement)], (pitch, pitch), layer_mm / 2)
    columns, rows = (int(length) for length in np.ceil(reach / pitch))
    scratch, total = raster.Scratch(), 0
    stack = bed.SimpleNamespace(jitter=jitter)
    for k in range(round(np.ptp(shape.vertices[:, 2]) / layer_mm)):
        plane = round((k + 0.5) * layer_mm * 1e6)
        total += raster.draw(scene, plane, phase(stack, k), columns, rows, scratch).drops
    return total * pitch**2 * layer_mm


def volume(shape):
    return trimesh.Trimesh(shape.vertices, shape.triangles, process=False).volume


@pytest.mark.slow
@pytest.mark.parametrize("jitter", [False, True])
def test_smooth_parts_hold_their_volume(jitter):
    # Cavalieri's principle with the middles of 300 layers. Along a ring's flat top and bottom that rule
    # itself is off by more than the drops are.
    ball = bed.shape(trimesh.creation.icosphere(subdivisions=6, radius=7.5))
    ring = bed.shape(trimesh.creation.torus(8, 7.5, major_sections=256, minor_sections=256))
    for shape in (ball, ring):
        np.testing.assert_allclose(printed_mm3(shape, jitter=jitter), volume(shape), rtol=1e-4)


@pytest.mark.slow
@pytest.mark.parametrize("name", ["text", "gear", "gyroid", "ball"])
def test_with_jitter_every_kind_of_part_holds_its_volume(name):
    ball = bed.shape(trimesh.creation.icosphere(subdivisions=6, radius=7.5))
    shape = ball if name == "ball" else PARTS[name][0]()
    np.testing.assert_allclose(printed_mm3(shape, jitter=True), volume(shape), rtol=5e-5)


def test_without_jitter_an_upright_part_is_off_by_the_same_share_in_every_layer():
    shape = bed.text()
    assert abs(printed_mm3(shape, jitter=False) / volume(shape) - 1) > 1e-4
