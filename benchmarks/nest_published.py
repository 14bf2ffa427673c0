"""Published instances beside the best heights in print, like for like and with a rule for emptying the box.

Fixed orientation, no gap. Every instance file (*.json with a container and item types) under the folder
`SAGGER_NEST_INSTANCES` is nested, by default those of ../shared/bench/nesting, each with its source; best
heights in print stand in best_heights.csv beside them, null for instances without one. Names after the
program choose some of them; `seed=3` takes another than 1.

    python benchmarks/nest_published.py [seed=1] [name ...]

Overlaps, walls and the way out are judged by `nest_verify`, which knows nothing of the search. The last line
is a JSON object: for each instance, without a rule and again with the cake bared ("... sideways"), `height`,
`published_best`, wall `seconds`, `lift`.
"""

from __future__ import annotations

import csv
import json
import os
import re
import sys
import time
from pathlib import Path
from typing import NamedTuple

import numpy as np
import trimesh
from nest_jobs import card, green
from nest_verify import Verdict, body, verify

from sagger.geometry.pile.judge.clearance import surface
from sagger.goods.green import Green
from sagger.goods.order import Choices, Nesting
from sagger.stations.nest.boxes import Task, one_by_one
from sagger.stations.nest.emptying import Departures, directions, emptied
from sagger.stations.nest.held import NOTHING_HELD
from sagger.stations.nest.laid import LaidPiece
from sagger.stations.nest.room import NestRoom
from sagger.tick import silent

_BESIDE = Path(__file__).resolve().parents[2] / "shared" / "bench" / "nesting"
INSTANCES = Path(os.environ.get("SAGGER_NEST_INSTANCES", _BESIDE))
LIFTS = ("none", "sideways")
ROUNDS = 250  # of search beyond the usual: some two minutes of an idle machine's two cores
MOST_SHARED = 1e-6  # of the smaller volume: what two pieces may share by rounding


class Instance(NamedTuple):
    name: str
    parts: tuple[Green, ...]  # quantities are the demands
    floor: tuple[float, float]
    best: float | None  # height in print


def instances(names: list[str]) -> list[Instance]:
    """All instances in the folder, or those named; the smallest first."""
    found = {}
    for file in sorted(INSTANCES.rglob("*.json")):
        told = json.loads(file.read_text())
        if isinstance(told, dict) and {"container", "item-types"} <= told.keys():
            found[str(file.relative_to(INSTANCES).with_suffix(""))] = told
    known = printed_heights()
    picked = names or sorted(
        found, key=lambda name: sum(item["demand"] for item in found[name]["item-types"])
    )
    return [_instance(name, found[name], known.get(name)) for name in picked]


def printed_heights() -> dict[str, float]:
    file = INSTANCES / "best_heights.csv"
    if not file.exists():
        return {}
    lines = [line for line in file.read_text().splitlines() if line and line[0] != "#"]
    return {
        row["instance"]: float(row["best_height_fixed"])
        for row in csv.DictReader(lines)
        if row["best_height_fixed"]
    }


def _instance(name: str, told: dict, best: float | None) -> Instance:
    parts = []
    for item in told["item-types"]:
        mesh = trimesh.load(_mesh_file(item["path"]), force="mesh")
        parts.append(green(item["path"], mesh.vertices, mesh.faces, item["demand"], np.eye(3)[None]))
    return Instance(name, tuple(parts), (told["container"]["size-x"], told["container"]["size-y"]), best)


def _mesh_file(path: str) -> Path:
    """File of a mesh: under its path, or in a folder named by author and year without the rest."""
    folder, rest = path.split("/", 1)
    short = re.sub(r"\W+", "", folder.split()[0].lower()) + "".join(re.findall(r"\d{4}", folder))
    for file in (INSTANCES / path, INSTANCES / short / rest):
        clean = file.parent / "sanitized" / file.name  # the same solid without inner facets
        if clean.exists() or file.exists():
            return clean if clean.exists() else file
    raise SystemExit(f"no mesh {path} under {INSTANCES}")


def laid(case: Instance, lift: str, seed: int) -> tuple[LaidPiece, ...]:
    """The pieces of an instance as low as `nest.pack` brings them, below its demand for a gap above 0."""
    high = 40.0 * max(np.ptp(part.shape.vertices[:, 2]) for part in case.parts)
    room = NestRoom((*case.floor, high), (*case.floor, high), 0.0, 0.0, 0.0, 0.0)
    left = np.repeat(np.arange(len(case.parts)), [part.part.request.quantity for part in case.parts])
    turns = [(kind, 0) for kind in range(len(case.parts))]
    choices = Choices(seed=seed, nesting=Nesting(lift=lift, improve=ROUNDS))
    box = card((*case.floor, high), 0.0, 0.0)
    task = Task(case.parts, case.parts, turns, room, box, NOTHING_HELD, choices)
    return one_by_one(task, left, silent)[0].pieces


def judged(case: Instance, lying: tuple[LaidPiece, ...], lift: str) -> tuple[Verdict, Departures]:
    """What the judge says of a nest, and how it can be emptied.

    Raises
    ------
    SystemExit
        If pieces are missing, overlap, leave the walls, or cannot be taken out as the rule wants.
    """
    bodies = []
    for one in lying:
        shape = case.parts[one.part].shape
        bodies.append(body(shape.vertices - shape.vertices.min(axis=0) + np.array(one.low), shape.triangles))
    verdict = verify(bodies)
    surfaces = [surface(np.ascontiguousarray(one.corners)) for one in bodies]
    by_height = sorted(range(len(bodies)), key=lambda n: -bodies[n].vertices[:, 2].max())
    way_out = emptied(surfaces, np.zeros((len(bodies), 3)), by_height, directions(lift))
    counts = np.bincount([one.part for one in lying], minlength=len(case.parts))
    wrong = [
        ("pieces are missing", any(counts != [part.part.request.quantity for part in case.parts])),
        (f"two pieces share {verdict.shared:.1e} of a volume", verdict.shared > MOST_SHARED),
        ("a wall is crossed", (verdict.high[:2] > np.array(case.floor) + 1e-6).any()),
        ("the floor is crossed", verdict.low.min() < -1e-6),
        (f"{len(way_out.stuck)} pieces cannot be taken out", lift != "none" and way_out.stuck),
    ]
    failed = [text for text, is_so in wrong if is_so]
    if failed:
        raise SystemExit(f"{case.name}: {'; '.join(failed)}")
    return verdict, way_out


def measured(case: Instance, lift: str, seed: int) -> dict[str, float | str | None]:
    wall, cpu = time.perf_counter(), time.process_time()
    lying = laid(case, lift, seed)
    wall, cpu = time.perf_counter() - wall, time.process_time() - cpu
    verdict, way_out = judged(case, lying, lift)
    height, ratio = float(verdict.high[2]), verdict.high[2] / case.best if case.best else float("nan")
    print(
        f"{case.name:24s} {len(lying):3d} pieces  lift {lift:8s} {height:7.3f}  published {case.best}  ratio "
        f"{ratio:.3f}  {wall:5.1f} s, {cpu:5.1f} s of processor  shared {verdict.shared:.0e} in "
        f"{verdict.by_volume} pairs by volume and {verdict.by_winding} by winding  "
        f"stuck {len(way_out.stuck)}, aside {sum(step != (0, 0, 1) for _, step in way_out.order)}",
        flush=True,
    )
    return {
        "height": round(height, 4),
        "published_best": case.best,
        "seconds": round(wall, 1),
        "lift": lift,
        "cpu_seconds": round(cpu, 1),
        "seed": seed,
    }


def published(seed: int, names: list[str]) -> dict[str, dict[str, float | str | None]]:
    """Each instance (no names: all) without a rule, and again as "name sideways" with that rule."""
    out = {}
    for case in instances(names):
        for lift in LIFTS:
            out[case.name if lift == "none" else f"{case.name} {lift}"] = measured(case, lift, seed)
    _means(out)
    return out


def _means(out: dict[str, dict[str, float | str | None]]) -> None:
    for lift in LIFTS:
        ratios = [
            one["height"] / one["published_best"]
            for one in out.values()
            if one["lift"] == lift and one["published_best"]
        ]
        if ratios:
            print(
                f"lift {lift}: mean ratio {np.mean(ratios):.3f}, largest {max(ratios):.3f} of {len(ratios)}"
            )


def main() -> None:
    seeds = [int(word[5:]) for word in sys.argv[1:] if word.startswith("seed=")]
    names = [word for word in sys.argv[1:] if not word.startswith("seed=")]
    if not INSTANCES.exists():
        raise SystemExit(f"the published instances are not there: {INSTANCES}")
    print(json.dumps(published(seeds[-1] if seeds else 1, names)))


if __name__ == "__main__":
    main()
