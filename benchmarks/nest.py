"""Nesting: published instances beside the best heights in print, and mixed jobs of 500 and 2,000 pieces.

Published instances (fixed orientation, no gap) are those of ../shared/bench/nesting with their sources; every
nest of ours can also be emptied by lifting, which the published ones need not. Each is started `tries` times
with seeds 1, 2, …; all overlaps are checked with manifold3d. The mixed job is 13 kinds of parts in 24
orientations with a gap of 2 mm and 5 mm to the walls; its smallest gap is measured again by manifold3d.
Baselines in the same run: bounding boxes in layers of rectangles (rectpack), and as cuboids (py3dbp, for few
pieces: it is slow). `rounds` of search are added to the usual ones in the mixed jobs.

    python benchmarks/nest.py [tries] [pieces of the mixed jobs, e.g. 100,500,2000] [rounds]

The last line is a JSON object.
"""

from __future__ import annotations

import csv
import dataclasses
import itertools
import json
import math
import sys
import time
from pathlib import Path

import manifold3d
import numpy as np
import py3dbp
import rectpack
import trimesh
from nest_parts import PARTS

from sagger.goods.box import Box
from sagger.goods.factors import Factors
from sagger.goods.figure import Figure
from sagger.goods.green import Green
from sagger.goods.order import Choices, Nesting, Request, Tolerance
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
        room = Room((*floor, 20 * best[name]), (*floor, 20 * best[name]), 0.0, 0.0, 0.0, 0.0)
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
    parts = []
    for number, draw in enumerate(PARTS):
        mesh, copies = draw().to_mesh(), count // 13 + (1 if number < count % 13 else 0)
        parts.append(green(draw.__name__, mesh.vert_properties[:, :3], mesh.tri_verts, copies, turns24()))
    return tuple(parts)


def in_layers(parts: tuple[Green, ...], floor: tuple[float, float], gap: float) -> float:
    """Height of bounding boxes, flattest side up, in layers that a general library packs as rectangles."""
    boxes = [sorted(part.part.extent_mm) for part in parts for _ in range(part.part.request.quantity)]
    left, base = sorted(boxes, reverse=True), 0.0
    while left:
        packer = rectpack.newPacker(sort_algo=rectpack.SORT_AREA, rotation=True)
        packer.add_bin(math.floor((floor[0] + gap) * 1e3), math.floor((floor[1] + gap) * 1e3))
        for number, (_, deep, wide) in enumerate(left):
            packer.add_rect(math.ceil((wide + gap) * 1e3), math.ceil((deep + gap) * 1e3), number)
        packer.pack()
        taken = {rid for *_, rid in packer.rect_list()}
        base += max(left[number][0] for number in taken) + gap
        left = [box for number, box in enumerate(left) if number not in taken]
    return base - gap


def in_boxes(parts: tuple[Green, ...], floor: tuple[float, float], gap: float) -> float:
    """Lowest height, by halving, in which a general cuboid packer finds room for all bounding boxes."""

    def fits(height: float) -> bool:
        packer = py3dbp.Packer()
        packer.add_bin(py3dbp.Bin("box", floor[0] + gap, floor[1] + gap, height + gap, 1e9))
        for part in parts:
            for copy in range(part.part.request.quantity):
                sides = [length + gap for length in part.part.extent_mm]
                packer.add_item(py3dbp.Item(f"{part.part.digest} {copy}", *sides, 0))
        packer.pack(bigger_first=True)
        return not packer.bins[0].unfitted_items

    low, high = 10.0, 400.0
    while high - low > 2.0:
        middle = (low + high) / 2
        low, high = (low, middle) if fits(middle) else (middle, high)
    return high


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
    counts = [int(text) for text in (sys.argv[2] if len(sys.argv) > 2 else "100,500,2000").split(",")]
    rounds = int(sys.argv[3]) if len(sys.argv) > 3 else 0
    if not INSTANCES.exists():
        raise SystemExit(f"the published instances are not there: {INSTANCES}")
    nest.pack(mixed(13), card((120, 120, 200), 2.0, 5.0), Choices())  # compile once
    out: dict[str, object] = {}
    short = 0.0
    for count in counts:
        floor = (300.0, 200.0) if count <= 500 else (600.0, 400.0)
        parts, started = mixed(count), time.perf_counter()
        choices = Choices(seed=1, nesting=Nesting(improve=rounds))
        layout = nest.pack(parts, card((*floor, 400.0), 2.0, 5.0), choices).layouts[0]
        seconds = time.perf_counter() - started
        free = (floor[0] - 10, floor[1] - 10)
        cuboids = f", as cuboids {in_boxes(parts, free, 2.0):.1f} mm" if count <= 100 else ""
        short = max(short, short_by(layout)) if count <= 500 else short
        print(
            f"{count} pieces: {layout.height_mm:.1f} mm in {seconds:.1f} s, density {layout.density:.3f}, "
            f"bound {layout.bound_mm:.1f} mm, least gap {layout.least_gap_mm:.6f} mm; boxes in layers "
            f"{in_layers(parts, free, 2.0):.1f} mm{cuboids}",
            flush=True,
        )
        out |= {f"parts{count}_s": round(seconds, 1), f"parts{count}_height_mm": round(layout.height_mm, 2)}
    out |= {"least_gap_error_um": round(short, 4), "instances": published(tries) if tries else {}}
    print(json.dumps(out))


if __name__ == "__main__":
    main()
