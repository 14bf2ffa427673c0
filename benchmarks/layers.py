"""Layers of a full bed at 1200 dpi, timed beside the best exact general rasteriser in the same run.

Times are CPU milliseconds of one core per layer, medians. The last line is a JSON object.
"""

from __future__ import annotations

import dataclasses
import json
import statistics
import sys
import tempfile
import time
import warnings
from pathlib import Path

import numpy as np
import rasterio
import shapely
from layers_bed import gear, grid, mixed, stack
from layers_job import whole_job
from rasterio.features import rasterize

from sagger.files import tiff
from sagger.geometry import raster
from sagger.geometry.raster import trace
from sagger.goods.stack import Style, Treatment
from sagger.stations import layers
from sagger.stations.layers.press import plane

STEP = 40  # layers between two that are timed


def cpu_ms(deed, *given):
    began = time.thread_time()
    result = deed(*given)
    return 1e3 * (time.thread_time() - began), result


def encode(sheet, recipe):
    return tiff.encode_sheet(sheet, tiff.LayerForm(recipe.pitch_mm))


def median(values):
    return round(statistics.median(values), 3)


def dram_write_ms(size):
    """Writing one bitmap of a layer to memory that no cache holds."""
    bank = np.ones((24, size), np.uint8)
    return median([cpu_ms(bank[n].fill, 0)[0] for n in range(24)])


def solid(recipe, folder):
    """Drawing, encoding and writing layers of plain drops; time of each stage and the drawings' counts."""
    press, scratch = layers.press(recipe), raster.Scratch()
    layers.sheet(press, 0, scratch=scratch)
    times, sizes, spans = {"draw": [], "encode": [], "write": []}, [], []
    for k in range(recipe.count // 8, recipe.count * 7 // 8, STEP):
        drawing, sheet = cpu_ms(lambda k=k: layers.sheet(press, k, scratch=scratch))
        encoding, data = cpu_ms(encode, sheet, recipe)
        writing, _ = cpu_ms((folder / "layer.tif").write_bytes, data)
        for name, value in zip(times, (drawing, encoding, writing), strict=True):
            times[name].append(value)
        sizes.append(len(data))
        spans.append(sheet.runs.at.size)
    total = median([sum(parts) for parts in zip(*times.values(), strict=True)])
    stages = {name: median(values) for name, values in times.items()}
    print(f"solid: {total} ms, {stages}, transitions {median(spans)}, bytes {median(sizes)}")
    return total, press


def general_ms(press, k, folder):
    """The same layer by a general rasteriser that is as exact: polygons to a bitmap to a G4 file.

    Building its polygons is not counted. Its drops must be ours.
    """
    recipe, scene = press.stack, press.batches[0].scene
    polygons = _polygons(scene, plane(recipe, k))
    drawing, image = cpu_ms(
        lambda: rasterize(polygons, out_shape=(recipe.rows, recipe.columns), dtype="uint8")
    )
    ours = layers.sheet(press, k)
    if not np.array_equal(np.packbits(image, axis=1), raster.bitmap(ours.runs)):
        raise SystemExit("the general rasteriser disagrees: the comparison means nothing")
    form = {"driver": "GTiff", "width": recipe.columns, "height": recipe.rows, "count": 1, "dtype": "uint8"}

    def write():
        with rasterio.open(folder / "general.tif", "w", **form, nbits=1, compress="CCITTFAX4") as file:
            file.write(image, 1)

    writing, _ = cpu_ms(write)
    print(f"general rasteriser: {drawing:.1f} ms, its file {writing:.1f} ms, drops identical")
    return drawing + writing


def _polygons(scene, height):
    """Sections of all copies as polygons in drops."""
    cuts = np.empty((trace.room(scene, height)[0], 4))
    spans, areas = np.empty((scene.group_mesh.size, 2), np.int64), np.empty(scene.group_mesh.size)
    trace.cut(scene, height, cuts, spans, areas)
    polygons = []
    for piece, group in enumerate(scene.piece_group):
        part, m = cuts[slice(*spans[group])], scene.piece_map[piece]
        if not len(part):
            continue
        z = (height - scene.group_z[group]) * 1e-6
        ends = [
            np.c_[
                m[0] * part[:, i] + m[1] * part[:, i + 1] + (m[2] * z + m[3]),
                m[4] * part[:, i] + m[5] * part[:, i + 1] + (m[6] * z + m[7]),
            ]
            for i in (0, 2)
        ]
        moves = (ends[0] != ends[1]).any(axis=1)
        lines = shapely.linestrings(np.stack([ends[0][moves], ends[1][moves]], axis=1))
        polygons.append(shapely.build_area(shapely.multilinestrings(lines)))
    return polygons


def everything(recipe, folder):
    """Bleed, 1 mm skin all round, halftoned core, deflate; a band of layers, per layer."""
    treatment = Treatment(bleed_mm=0.02, skin_mm=1.0, core=0.6)
    return styled(recipe, Style(treatments=(treatment,)), folder, "everything", 40)


def grey(folder):
    """Two bits from exact cover, deflate, on a bed of sixty gears."""
    recipe = stack(*grid(gear()))
    print(f"grey: {len(recipe.layout.pieces)} gears")
    return styled(recipe, Style(bits=2), folder, "grey", 10)


def styled(recipe, style, folder, name, length):
    """Mean of a band of layers: what its first layer does for those after it is shared by all."""
    from sagger.stations.layers.band import band

    press, scratch = layers.press(dataclasses.replace(recipe, style=style)), raster.Scratch()
    first, size = recipe.count // 3, [0]

    def run(count):
        for _, sheet in band(press, first, first + count, scratch):
            data = encode(sheet, recipe)
            (folder / "layer.tif").write_bytes(data)
            size[0] = len(data)

    run(2)  # the buffers of this thread
    total, _ = cpu_ms(run, length)
    print(f"{name}: {total / length:.1f} ms, bytes {size[0]}")
    return round(total / length, 2)


def wall_ratio(recipe, count=400, times=3):
    """Wall time of one thread over that of two, the best of each, and whether both drew the same."""
    first = recipe.count // 3
    walls, digests = {1: [], 2: []}, {}
    for threads in (1, 2) * times:
        began, seen = time.perf_counter(), []
        drawing = layers.drawn(recipe, lambda _k, one: encode(one, recipe), first=first, threads=threads)
        for k, sheet, _ in drawing:
            seen.append(sheet.digest)
            if k == first + count:
                break
        walls[threads].append(time.perf_counter() - began)
        digests[threads] = seen
    if digests[1] != digests[2]:
        raise SystemExit("two threads drew something else than one")
    return round(min(walls[1]) / min(walls[2]), 2)


def main():
    warnings.simplefilter("ignore", rasterio.errors.NotGeoreferencedWarning)  # a layer is not on the map
    layers.warm()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        shapes, copies = mixed()
        recipe = stack(shapes, copies)
        setting_up, _ = cpu_ms(layers.press, recipe)
        print(f"{len(copies)} parts, {recipe.count} layers, press {setting_up:.0f} ms")
        solid_ms, press = solid(recipe, folder)
        write_ms = dram_write_ms((recipe.columns + 7) // 8 * recipe.rows)
        print(f"writing one bitmap to memory: {write_ms} ms")
        general = general_ms(press, recipe.count // 2, folder)
        result = {
            "solid_cpu_ms": solid_ms,
            "over_dram_write": round(solid_ms / write_ms, 2),
            "times_faster_than_best_exact_general": round(general / solid_ms, 1),
            "everything_cpu_ms": everything(recipe, folder),
            "grey_cpu_ms": grey(folder),
            "two_thread_wall_ratio": wall_ratio(recipe),
            **whole_job(shapes, copies, folder),
        }
    print(json.dumps(result))


if __name__ == "__main__":
    sys.exit(main())
