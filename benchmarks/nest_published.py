"""Published instances beside the best heights in print.

Fixed orientation, no gap; the instances are read from `SAGGER_NEST_INSTANCES` or ../shared/bench/nesting,
each with its source. Overlaps are measured by manifold3d.
"""

from __future__ import annotations

import csv
import itertools
import json
import os
import time
from pathlib import Path

import numpy as np
import trimesh
from nest_jobs import green, solid

from sagger.goods.green import Green
from sagger.stations.nest.fill import desk
from sagger.stations.nest.forms import pitch
from sagger.stations.nest.improve import improved
from sagger.stations.nest.room import Room
from sagger.stations.nest.search import Effort, grown_twice

_BESIDE = Path(__file__).resolve().parents[2] / "shared" / "bench" / "nesting"
INSTANCES = Path(os.environ.get("SAGGER_NEST_INSTANCES", _BESIDE))
BLOCKS = 150  # of up to 60 rounds of overlap removal, each try


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
        started, found = time.process_time(), []
        for seed in range(1, tries + 1):
            shared = desk(parts, [(kind, 0) for kind in range(len(parts))], room, pitch(extents, room, 30.0))
            grown = grown_twice(shared, left, np.random.default_rng(seed), Effort(12, 3, 4))
            found.append(improved(min(grown, key=lambda one: one.rank), seed, BLOCKS))
        seconds, lowest = time.process_time() - started, min(found, key=lambda one: one.rank)
        height = lowest.rank[-1] * 1e-3
        shared_volume, refused = overlap(parts, lowest)
        print(
            f"{name:24s} {len(left):3d} pieces  {height:7.3f}  published {best[name]:7.3f}  ratio "
            f"{height / best[name]:.3f}  {seconds:5.1f} s of processor  overlap {shared_volume:.1e}  "
            f"unchecked {refused}",
            flush=True,
        )
        out[name] = {
            "height": height,
            "published_best": best[name],
            "cpu_s": round(seconds, 1),
            "seeds": tries,
        }
    return out
