"""One course of pressing: the ceiling comes down step by step, overlaps are taken out, lower layouts kept."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from sagger.geometry.pile.through.crowd import ONCE, Crowd, Turns, measure, sink, top
from sagger.geometry.pile.through.removal import LookRule, Trial, remove
from sagger.geometry.pile.through.tables import PairTables

_PATIENCE = 60  # rounds without a new least overlap
_TIMES = 2  # failures in a row after which the best layout is taken up again, some pieces exchanged


class CourseGround(NamedTuple):
    """What all courses on one lattice share."""

    tables: PairTables
    turns: Turns
    lowest: int  # top that no layout of these shapes can undercut [rises]
    accept: Callable[[Crowd], bool]  # whether a layout free of overlap keeps the rule for emptying
    reach: Callable[[int], None]  # hears the top of each lower layout [rises]
    enough: Callable[[], bool]  # whether to stop


class Course(NamedTuple):
    """How one course goes."""

    looks: LookRule
    step: float  # share of the height by which the ceiling comes down at first
    work: int  # table places that may be added up
    seed: int


def pressed(ground: CourseGround, start: Crowd, course: Course) -> Crowd:
    """The lowest layout that a course finds, or the start, which must be free of overlap and accepted."""
    luck = np.random.default_rng(course.seed)
    tables, now, best = ground.tables, copied(start), copied(start)
    high, step, failed, used = int(top(tables, best)), course.step, 0, 0
    while used < course.work and high > ground.lowest and not ground.enough():
        ceiling = max(ground.lowest, min(high - 1, round(high * (1 - step))))
        _lower(tables, now, ground.turns, ceiling)
        seed = int(luck.integers(1 << 30))
        outcome = remove(
            tables, now, ground.turns, course.looks, Trial(ceiling, _PATIENCE, course.work - used, seed)
        )
        used += outcome.work
        if outcome.least == 0 and _taken(ground, now):
            best, high, failed = copied(now), int(top(tables, now)), 0
            ground.reach(high)
            continue
        failed, step = failed + 1, step / 2
        if failed % _TIMES == 0:
            now = copied(best)
            _exchange(tables, now, ground.turns, ceiling, luck)
    return best


def _taken(ground: CourseGround, now: Crowd) -> bool:
    """Let everything sink, and say whether the layout may be kept."""
    sink(ground.tables, now, ground.turns.free)
    measure(ground.tables, now)
    return ground.accept(now)


def copied(crowd: Crowd) -> Crowd:
    """The same layout, all pairs of equal weight again."""
    return Crowd(crowd.pose.copy(), crowd.at.copy(), np.full_like(crowd.weight, ONCE), crowd.depth.copy())


def _lower(tables: PairTables, now: Crowd, may: Turns, ceiling: int) -> None:
    """Press free shapes under the ceiling."""
    under = np.maximum(0, ceiling - tables.cells[now.pose, 2])
    now.at[may.free, 2] = np.minimum(now.at[:, 2], under)[may.free]
    measure(tables, now)


def _exchange(tables: PairTables, now: Crowd, may: Turns, ceiling: int, luck: np.random.Generator) -> None:
    """Let the middles of one to three pairs of unlike pieces change places."""
    free = np.flatnonzero(may.free)
    for _ in range(1 + int(luck.integers(3))):
        one, two = luck.choice(free, 2)
        if may.kind[one] == may.kind[two]:
            continue
        cells = tables.cells[now.pose]
        middles = now.at + cells // 2
        for shape, other in ((one, two), (two, one)):
            most = np.append(tables.places[now.pose[shape]], max(1, ceiling - cells[shape, 2] + 1)) - 1
            now.at[shape] = np.clip(middles[other] - cells[shape] // 2, 0, most)
    measure(tables, now)
