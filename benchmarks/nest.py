"""Nesting: mixed jobs of 100, 500 and 2,000 pieces, lots of one kind, and published instances.

The mixed job is 13 kinds of parts in 24 orientations with a gap of 2 mm and 5 mm to the walls; the smallest
gap is measured again by manifold3d. Beside it in the same run: bounding boxes in layers of rectangles
(rectpack), and as cuboids (py3dbp, for few pieces: it is slow). Every nest of ours can be emptied by lifting
piece after piece; published ones need not be, and are nested as `nest_published` says, with this seed (0: not
at all). `rounds` of search are added to the usual ones in mixed jobs.

    python benchmarks/nest.py [seed] [pieces of the mixed jobs, e.g. 100,500,2000] [rounds]

The last line is a JSON object.
"""

from __future__ import annotations

import json
import resource
import sys
import time

from nest_boxes import in_boxes, in_layers
from nest_jobs import card, lot, mixed, short_by
from nest_parts import angle, channel, plate
from nest_published import INSTANCES, printed_heights, published

from sagger.goods.green import Green
from sagger.goods.layout import Layout
from sagger.goods.order import Choices, Nesting
from sagger.stations import nest
from sagger.tick import Tick

LOTS = ((angle, 200), (channel, 300), (plate, 200))


class Clock:
    """Wall and processor seconds, and when a first whole nest was there, by what the work says of itself."""

    def __init__(self) -> None:
        self.started, self.worked = time.perf_counter(), time.process_time()
        self.first = self.first_cpu = 0.0
        self.tick = Tick(self.hear, lambda: False)

    def hear(self, doing: str, done: int, total: int) -> None:
        if not self.first and " mm" in doing:
            self.first, self.first_cpu = self.seconds()

    def seconds(self) -> tuple[float, float]:
        return time.perf_counter() - self.started, time.process_time() - self.worked


def packed(
    parts: tuple[Green, ...], floor: tuple[float, float], rounds: int
) -> tuple[Layout, Clock, tuple[float, float]]:
    """The nest of a job in one box, its clock, wall and processor seconds until the whole was done."""
    clock, choices = Clock(), Choices(seed=1, nesting=Nesting(improve=rounds))
    layout = nest.pack(parts, card((*floor, 400.0), 2.0, 5.0), choices, tick=clock.tick).layouts[0]
    return layout, clock, clock.seconds()


def mixed_job(count: int, rounds: int) -> dict[str, float]:
    floor = (300.0, 200.0) if count <= 500 else (600.0, 400.0)
    parts, free = mixed(count), (floor[0] - 10, floor[1] - 10)
    layout, clock, seconds = packed(parts, floor, rounds)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20
    out = {
        f"parts{count}_s": round(seconds[0], 1),
        f"parts{count}_cpu_s": round(seconds[1], 1),
        f"parts{count}_first_s": round(clock.first, 1),
        f"parts{count}_first_cpu_s": round(clock.first_cpu, 1),
        f"parts{count}_height_mm": round(layout.height_mm, 2),
        f"parts{count}_boxes_mm": round(in_layers(parts, free, 2.0), 2),
        f"parts{count}_peak_gb": round(peak, 2),
    }
    if count <= 100:
        out[f"parts{count}_cuboids_mm"] = round(in_boxes(parts, free, 2.0), 2)
    if count <= 500:
        out["least_gap_error_um"] = round(short_by(layout), 4)
    print(f"{count} pieces: density {layout.density:.3f}, bound {layout.bound_mm:.1f} mm; {out}", flush=True)
    return out


def one_kind(draw: object, count: int) -> dict[str, float]:
    parts = lot(draw, count)
    layout, _, seconds = packed(parts, (300.0, 200.0), 0)
    boxes = in_layers(parts, (290.0, 190.0), 2.0)
    print(
        f"{count} of {draw.__name__}: {layout.height_mm:.1f} mm in {seconds[1]:.1f} s of processor, boxes "
        f"{boxes:.1f} mm, ratio {layout.height_mm / boxes:.3f}, short by {short_by(layout):.4f} um",
        flush=True,
    )
    return {
        f"lot_{draw.__name__}_height_mm": round(layout.height_mm, 2),
        f"lot_{draw.__name__}_boxes_mm": boxes,
    }


def main() -> None:
    seed = int(sys.argv[1]) if len(sys.argv) > 1 else 1
    counts = [int(text) for text in (sys.argv[2] if len(sys.argv) > 2 else "100,500,2000").split(",") if text]
    rounds = int(sys.argv[3]) if len(sys.argv) > 3 else 0
    if seed and not INSTANCES.exists():
        raise SystemExit(f"the published instances are not there: {INSTANCES}")
    nest.pack(mixed(13), card((120, 120, 200), 2.0, 5.0), Choices())  # compile once
    out: dict[str, object] = {}
    for count in counts:
        found = mixed_job(count, rounds)
        found["least_gap_error_um"] = max(
            found.get("least_gap_error_um", 0.0), out.get("least_gap_error_um", 0.0)
        )
        out |= found
    for draw, count in LOTS if counts else ():
        out |= one_kind(draw, count)
    names = [name for name in printed_heights() if (INSTANCES / f"{name}.json").exists()] if seed else []
    out["instances"] = published(seed, names) if names else {}
    print(json.dumps(out))


if __name__ == "__main__":
    main()
