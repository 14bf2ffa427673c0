"""Nesting: published instances beside the best heights in print, and mixed jobs of 500 and 2,000 pieces.

Published instances (fixed orientation, no gap) are those of ../shared/bench/nesting with their sources; every
nest of ours can also be emptied by lifting, which the published ones need not. Each is started `tries` times
with seeds 1, 2, …; all overlaps are checked with manifold3d. The mixed job is 13 kinds of parts in 24
orientations with a gap of 2 mm and 5 mm to the walls; its smallest gap is measured again by manifold3d.
Baseline in the same run: bounding boxes in shelves (next fit, decreasing height), a general box packing.

    python benchmarks/nest.py [tries] [pieces of the mixed jobs, e.g. 500,2000]

The last line is a JSON object.
"""

from __future__ import annotations

import csv
import dataclasses
import importlib.util
import itertools
import json
import sys
import time
from pathlib import Path

import manifold3d
import numpy as np
import trimesh

from sagger.goods.box import Box
from sagger.goods.factors import Factors
from sagger.goods.figure import Figure
from sagger.goods.green import Green
from sagger.goods.order import Choices, Request, Tolerance
from sagger.goods.part import Part
from sagger.goods.shape import Shape
from sagger.stations import nest
from sagger.stations.nest.fill import desk
from sagger.stations.nest.forms import pitch
from sagger.stations.nest.improve import improved
from sagger.stations.nest.room import Room
from sagger.stations.nest.search import Effort, grown_twice

SHARED = Path(__file__).resolve().parents[2] / "shared"
INSTANCES = SHARED / "bench" / "nesting"
BLOCKS = 150  # of up to 60 rounds of overlap removal, each try


def turns24() -> np.ndarray:
    signed = itertools.product(itertools.permutations(range(3)), itertools.product((1.0, -1.0), repeat=3))
    turns = [np.eye(3)[list(order)] * np.array(signs)[:, None] for order, signs in signed]
    return np.array([turn for turn in turns if np.linalg.det(turn) > 0])


def green(name: str, vertices: np.ndarray, triangles: np.ndarray, count: int, turns: np.ndarray) -> Green:
    shape = Shape(vertices=np.asarray(vertices, float), triangles=np.asarray(triangles, np.int32))
    asked = Request(
        name=name, file=name, unit="mm", quantity=count, tolerance=Tolerance(kind="mm", value=0.1)
    )
    size = tuple(float(length) for length in np.ptp(shape.vertices, axis=0))
    part = Part(
        request=asked, digest=name, shape=shape, volume_mm3=0.0, area_mm2=0.0, extent_mm=size,
        thickest_mm=1.0, turns=turns, healed=(), findings=(),
    )  # fmt: skip
    factors = Factors(k=np.ones(3), u=np.zeros(3), material="none", origin="card")
    return Green(part=part, shape=shape, factors=factors, maps=turns)


def card(size: tuple[float, float, float], gap: float, wall: float) -> Box:
    named = dict(zip(("length_x", "length_y", "length_z"), size, strict=True)) | {
        "gap": gap,
        "wall_gap": wall,
    }
    figures = {
        field.name: Figure(
            value=named.get(field.name, 0.0) * 1e-3,
            u=0.0,
            printed="",
            source="",
            where="",
            standing="assumed",
        )
        for field in dataclasses.fields(Box)
        if "kind" in field.metadata
    }
    return Box(name="bench", title="bench", **figures)


def instance(name: str) -> tuple[tuple[Green, ...], tuple[float, float]]:
    """Parts and floor of a published instance."""
    told = json.loads((INSTANCES / f"{name}.json").read_text())
    parts = []
    for item in told["item-types"]:
        folder, rest = item["path"].split("/", 1)
        place = folder.split()[0].lower() + folder.split()[-1]
        file = INSTANCES / place / rest
        clean = file.parent / "sanitized" / file.name  # the same solid without inner facets
        mesh = trimesh.load(clean if clean.exists() else file, force="mesh")
        parts.append(green(item["path"], mesh.vertices, mesh.faces, item["demand"], np.eye(3)[None]))
    return tuple(parts), (told["container"]["size-x"], told["container"]["size-y"])


def solid(vertices: np.ndarray, triangles: np.ndarray) -> manifold3d.Manifold:
    return manifold3d.Manifold(manifold3d.Mesh64(vertices.copy(), triangles.astype(np.uint64)))


def overlap(parts: tuple[Green, ...], found: object) -> tuple[float, int]:
    """Largest shared volume of two pieces over the smaller's; and how many meshes manifold3d refused."""
    shared, bodies, refused = found.shared, [], set()
    for lie in found.lies:
        form = shared.forms[lie.pose]
        low = np.array([lie.x * shared.column, lie.y * shared.column, lie.z * 1e-3]) - form.corner
        body = solid(parts[form.kind].shape.vertices + low, parts[form.kind].shape.triangles)
        if body.is_empty():
            refused.add(form.kind)
        bodies.append(body)
    worst = 0.0
    for one, two in itertools.combinations([body for body in bodies if not body.is_empty()], 2):
        worst = max(worst, (one ^ two).volume() / min(one.volume(), two.volume()))
    return worst, len(refused)


def published(tries: int) -> dict[str, dict[str, float]]:
    lines = [line for line in (INSTANCES / "best_heights.csv").read_text().splitlines() if line[0] != "#"]
    best = {row["instance"]: float(row["best_height_fixed"]) for row in csv.DictReader(lines)}
    out = {}
    for name in (name for name in best if (INSTANCES / f"{name}.json").exists()):
        parts, floor = instance(name)
        left = np.repeat(np.arange(len(parts)), [part.part.request.quantity for part in parts])
        room = Room((*floor, 20 * best[name]), (*floor, 20 * best[name]), 0.0, 0.0, 0.0)
        extents = np.array([np.ptp(part.shape.vertices, axis=0) for part in parts])
        started, found = time.perf_counter(), []
        for seed in range(1, tries + 1):
            shared = desk(parts, [(kind, 0) for kind in range(len(parts))], room, pitch(extents, room, 30.0))
            grown = grown_twice(shared, left, np.random.default_rng(seed), Effort(12, 3, 4))
            found.append(improved(min(grown, key=lambda one: one.rank), seed, BLOCKS))
        seconds, lowest = time.perf_counter() - started, min(found, key=lambda one: one.rank)
        height = lowest.rank[-1] * 1e-3
        shared_volume, refused = overlap(parts, lowest)
        print(
            f"{name:24s} {len(left):3d} pieces  {height:7.3f}  published {best[name]:7.3f}  ratio "
            f"{height / best[name]:.3f}  {seconds:5.1f} s  overlap {shared_volume:.1e}  unchecked {refused}",
            flush=True,
        )
        out[name] = {"height": height, "published_best": best[name], "seconds": round(seconds, 1)}
    return out


def mixed(count: int) -> tuple[Green, ...]:
    """The job of 13 kinds in equal numbers."""
    place = SHARED / "prototypes" / "nesting" / "parts.py"
    spec = importlib.util.spec_from_file_location("nest_parts", place)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    bodies = module.build()
    parts = []
    for number, (name, body) in enumerate(bodies.items()):
        mesh, copies = body.to_mesh(), count // 13 + (1 if number < count % 13 else 0)
        parts.append(green(name, mesh.vert_properties[:, :3], mesh.tri_verts, copies, turns24()))
    return tuple(parts)


def shelves(parts: tuple[Green, ...], floor: tuple[float, float], gap: float) -> float:
    """Height of bounding boxes, flattest side up, in rows and layers: next fit, decreasing height."""
    boxes = [sorted(part.part.extent_mm) for part in parts for _ in range(part.part.request.quantity)]
    x = y = row = layer = base = 0.0
    for high, deep, wide in sorted(boxes, reverse=True):
        if x + wide > floor[0]:
            x, y, row = 0.0, y + row + gap, 0.0
        if y + deep > floor[1]:
            x, y, row, base, layer = 0.0, 0.0, 0.0, base + layer + gap, 0.0
        x, row, layer = x + wide + gap, max(row, deep), max(layer, high)
    return base + layer


def short_by(layout: object) -> float:
    """By how much manifold3d finds the smallest gap short of what was asked [um]."""
    bodies, boxes = [], []
    for piece in layout.pieces:
        shape = layout.greens[piece.part].shape
        at = shape.vertices @ piece.placement[:3, :3].T + piece.placement[:3, 3]
        bodies.append(solid(at, shape.triangles))
        boxes.append((at.min(axis=0), at.max(axis=0)))
    least, near = np.inf, layout.gap_mm + 0.5
    for a, b in itertools.combinations(range(len(bodies)), 2):
        if (boxes[a][0] < boxes[b][1] + near).all() and (boxes[b][0] < boxes[a][1] + near).all():
            least = min(least, bodies[a].min_gap(bodies[b], near))
    return max(0.0, (layout.gap_mm - least) * 1e3)


def main() -> None:
    tries = int(sys.argv[1]) if len(sys.argv) > 1 else 2
    counts = [int(text) for text in (sys.argv[2] if len(sys.argv) > 2 else "500,2000").split(",")]
    if not INSTANCES.exists():
        raise SystemExit(f"the published instances are not there: {INSTANCES}")
    nest.pack(mixed(13), card((120, 120, 200), 2.0, 5.0), Choices())  # compile once
    out: dict[str, object] = {}
    short = 0.0
    for count in counts:
        floor = (300.0, 200.0) if count <= 500 else (600.0, 400.0)
        parts, started = mixed(count), time.perf_counter()
        layout = nest.pack(parts, card((*floor, 400.0), 2.0, 5.0), Choices(seed=1)).layouts[0]
        seconds = time.perf_counter() - started
        boxes = shelves(parts, (floor[0] - 10, floor[1] - 10), 2.0)
        short = max(short, short_by(layout)) if count <= 500 else short
        print(
            f"{count} pieces: {layout.height_mm:.1f} mm in {seconds:.1f} s, density {layout.density:.3f}, "
            f"least gap {layout.least_gap_mm:.6f} mm; boxes in shelves {boxes:.1f} mm",
            flush=True,
        )
        out |= {f"parts{count}_s": round(seconds, 1), f"parts{count}_height_mm": round(layout.height_mm, 2)}
    out |= {"least_gap_error_um": round(short, 4), "instances": published(tries)}
    print(json.dumps(out))


if __name__ == "__main__":
    main()
