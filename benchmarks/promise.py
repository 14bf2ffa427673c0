"""What is promised, timed, and held against an invented shop; ends with one JSON object.

draws_s: 50 sizes with 30 sources, judged by the station's own draws: 4,096 of what pieces share, 256 pieces
in each, 100 times the 10,000 that are asked. plan_s: 100 sizes, chance of a piece and the least number to
start, with twelve variants judged as what would raise it. coverage: share of orders of 60 invented lots that
had enough good pieces, promised with .8, .9 and .95. Wall seconds, after compiling; they count on idle
cores only, so processor time is told beside them.

    python benchmarks/promise.py
"""

import json
import resource
import sys
import time
from pathlib import Path

import numpy as np
from scipy.stats import binom

from sagger.stations.promise import sampled
from sagger.stations.promise.source import LOT, PIECE, SHOP, Doubted, DoubtSource, Lying, Room
from sagger.statistics import starts

sys.path.append(str(Path(__file__).parents[1] / "tests"))
import promise_shop

VARIANTS, ASKED, ORDERS = 12, 40, 60


def drawing(sizes: int, seed: int) -> Doubted:
    """A part with so many sizes and 30 sources on three levels."""
    generator = np.random.default_rng(seed)
    length = generator.uniform(5, 80, sizes)
    levels = [SHOP] * 8 + [LOT] * 4 + [PIECE] * 18
    scale = {SHOP: 4e-4, LOT: 4e-4, PIECE: 2e-4}
    sources = tuple(
        DoubtSource(f"s{row}", f"s{row}", level, scale[level] * length * generator.uniform(0.2, 1, sizes))
        for row, level in enumerate(levels)
    )
    half, none = 0.004 * length, np.zeros(sizes)
    names = tuple(str(row) for row in range(sizes))
    room = Room(names, np.zeros(sizes, np.int64), none, -half, half)
    return Doubted(0, room, (Lying(0, 1.0, none, none, sources),), 0.005)


def judged(sizes: int) -> None:
    """Draws, and what they make of a part."""
    part = drawing(sizes, 1)
    sampled.verdict(part, sampled.draw([part], 1, 1))


def planned(sizes: int) -> None:
    """Chance, number to start and what would raise it."""
    part = drawing(sizes, 2)
    draws = sampled.draw([part], 1, 1)
    for _ in range(1 + VARIANTS):
        verdict = sampled.verdict(part, draws)
        starts.least(verdict.passed, ASKED, 0.95)


def main() -> None:
    judged(2)
    told: dict[str, float] = {}
    for name, timed in (("draws", lambda: judged(50)), ("plan", lambda: planned(100))):
        began, spent = time.perf_counter(), time.process_time()
        timed()
        told[f"{name}_s"] = time.perf_counter() - began
        told[f"{name}_cpu_s"] = time.process_time() - spent
    for sure in (0.8, 0.9, 0.95):
        piece, share = promise_shop.kept(sure, ORDERS)
        low, high = binom.ppf([0.025, 0.975], ORDERS, sure) / ORDERS
        told[f"coverage_{100 * sure:.0f}"] = share
        print(f"promised {sure:.0%}: started {piece.least}, kept {share:.1%} ({low:.1%} to {high:.1%})")
    told["peak_gb"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20
    print(json.dumps({name: round(value, 3) for name, value in told.items()}))


if __name__ == "__main__":
    main()
