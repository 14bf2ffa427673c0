"""Take overlaps out of a crowd under a ceiling, by moving one shape at a time to its best place.

Source
------
Overlap removal with growing weights on stubborn pairs: guided local search after Egeblad, Nielsen and Brazil,
Comput. Geom. 42 (2009) 269; here a move looks at every place of the box at once.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from sagger.compiled import checked
from sagger.geometry.pile.through.crowd import ONCE, Crowd, Turns, measure_one
from sagger.geometry.pile.through.moving import Window, around, best_place, good_place
from sagger.geometry.pile.through.tables import PairTables

_MOST_WEIGHT = 1 << 19


class LookRule(NamedTuple):
    """Where a moved shape looks for its place."""

    whole: float  # share of moves that look at the whole box
    beside: int  # else this many steps around where it lies
    above: int  # and so many steps up and down
    shafts: int  # and into so many shafts of the whole height, drawn by lot
    shaft: int  # of this width [steps]
    turned: int  # other poses that are tried as well
    stride: int = 1  # every so many lines of the whole box


class Trial(NamedTuple):
    """One attempt to bring a crowd under a ceiling."""

    ceiling: int
    patience: int  # rounds without a new least total after which it gives up
    work: int  # table places that may be added up
    seed: int


class Removed(NamedTuple):
    least: int  # smallest sum of ways out that was seen; 0: nothing overlaps and all lies under the ceiling
    work: int  # table places that were added up
    rounds: int


@checked
def remove(t: PairTables, c: Crowd, may: Turns, looks: LookRule, trial: Trial) -> Removed:
    """Move shapes until nothing overlaps under the ceiling, or patience or work are at an end."""
    np.random.seed(trial.seed)
    lowest, since, work, rounds = 1 << 60, 0, 0, 0
    while since < trial.patience and work < trial.work:
        rounds += 1
        for i in np.random.permutation(c.pose.shape[0]):
            too_high = c.at[i, 2] + t.cells[c.pose[i], 2] > trial.ceiling
            if may.free[i] and (too_high or c.depth[i].any()):
                work += _move(t, c, i, may, looks, trial.ceiling)
        total, high = _left(t, c, trial.ceiling)
        if total == 0 and not high:
            return Removed(0, work, rounds)
        since += 1
        if total < lowest and not high:
            lowest, since = total, 0
        _reweigh(c)
    return Removed(lowest, work, rounds)


@checked
def _left(t: PairTables, c: Crowd, ceiling: int) -> tuple[int, bool]:
    """Sum of ways out, and whether a shape still stands above the ceiling."""
    total, high = 0, False
    for i in range(c.pose.shape[0]):
        high = high or c.at[i, 2] + t.cells[c.pose[i], 2] > ceiling
        for j in range(i):
            total += c.depth[i, j]
    return total, high


@checked
def _reweigh(c: Crowd) -> None:
    """Pairs that overlap count more from now on, the deepest the most; the others are slowly forgiven."""
    deepest = max(1, c.depth.max())
    for i in range(c.pose.shape[0]):
        for j in range(i):
            weight, depth = int(c.weight[i, j]), int(c.depth[i, j])
            if depth > 0:
                weight = min(weight + weight * (51 + 205 * depth // deepest) // 256, _MOST_WEIGHT)
            else:
                weight = max(ONCE, weight * 243 // 256)
            c.weight[i, j] = c.weight[j, i] = weight


@checked
def _move(t: PairTables, c: Crowd, i: int, may: Turns, looks: LookRule, ceiling: int) -> int:
    """Give one shape its best place; how many table places were added up."""
    mine = may.poses[may.first[may.kind[i]] : may.first[may.kind[i] + 1]]
    best, work = 1 << 40, 0
    pose, y, x, z = c.pose[i], c.at[i, 0], c.at[i, 1], c.at[i, 2]
    whole = np.random.random() < looks.whole
    own, tries = c.pose[i], 1 + min(looks.turned, mine.shape[0] - 1) + (0 if whole else looks.shafts)
    near = tries - (0 if whole else looks.shafts)
    for k in range(tries):
        turned = own if k == 0 else mine[np.random.randint(mine.shape[0])]
        deep, wide = t.places[turned, 0], t.places[turned, 1]
        high = ceiling - t.cells[turned, 2] + 1
        if deep <= 0 or wide <= 0 or high <= 0:
            continue
        window = Window(0, 0, 0, deep, wide, high)
        if not whole:
            window = _beside(t, c, i, turned, looks, window) if k < near else _shaft(looks, window)
        if whole and looks.stride > 1:
            place = good_place(t, c, i, turned, window, looks.stride)
        else:
            place = best_place(t, c, i, turned, window, 0)
        work += place.work
        if place.cost < best:
            best, pose, y, x, z = place.cost, turned, place.y, place.x, place.z
            if best == 0:
                break
    c.pose[i], c.at[i, 0], c.at[i, 1], c.at[i, 2] = pose, y, x, z
    measure_one(t, c, i)
    return work


@checked
def _beside(t: PairTables, c: Crowd, i: int, turned: int, looks: LookRule, all_: Window) -> Window:
    """Places around where the shape lies, its middle kept where the pose is another."""
    shift = (t.cells[c.pose[i]] - t.cells[turned]) // 2
    y, deep = around(c.at[i, 0] + shift[0], looks.beside, all_.deep)
    x, wide = around(c.at[i, 1] + shift[1], looks.beside, all_.wide)
    z, high = around(c.at[i, 2] + shift[2], looks.above, all_.high)
    return Window(y, x, z, deep, wide, high)


@checked
def _shaft(looks: LookRule, all_: Window) -> Window:
    """Places of a shaft of the whole height."""
    half = looks.shaft // 2
    y, deep = around(np.random.randint(all_.deep), half, all_.deep)
    x, wide = around(np.random.randint(all_.wide), half, all_.wide)
    return Window(y, x, 0, deep, wide, all_.high)
