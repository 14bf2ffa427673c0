"""A pile of shapes, some perhaps overlapping: which lies above which, and how low each may lie.

Two shapes whose columns meet must lie one above the other. Heights are int64 micrometres, arrays [y, x].
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.compiled import checked
from sagger.geometry.pile.lowering.letdown import Liking, Poses
from sagger.geometry.pile.lowering.nofit import CLEAR


class Tables(NamedTuple):
    """Lowest heights of every pose over every other, in one row, and the sizes to find them by."""

    pool: np.ndarray  # int32
    start: np.ndarray  # int64 (k, k): of the table of [lying, coming] in `pool`
    reach: np.ndarray  # int64 (k, 2): columns of the reach along y and x
    under: np.ndarray  # int64 (k, 2): columns of the underside
    pad: int
    high: np.ndarray  # int64 (k,): heights [um]
    places: np.ndarray  # int64 (k, 2): columns a pose can be moved along y and x
    liking: Liking  # where poses should rather lie


class Pile(NamedTuple):
    """Shapes where they lie, overlaps allowed; arrays of one entry a shape, changed in place."""

    pose: np.ndarray  # int64
    y: np.ndarray  # int64, column
    x: np.ndarray  # int64, column
    z: np.ndarray  # int64 [um]
    weight: np.ndarray  # float64 (n, n), symmetric: how much the overlap of a pair counts


def tables(known: Poses, used: np.ndarray) -> Tables:
    """Tables of all pairs of the `used` poses (int64)."""
    for pose in used:
        known.know(int(pose), used)
    s = known.sizes
    return Tables(known.pool, s.table, s.reach, s.under, s.pad, s.high, s.places, s.liking)


@checked
def above(t: Tables, lying: int, coming: int, dy: int, dx: int) -> int:
    """Lowest height of one pose over another at this offset of columns [um], below `CLEAR` if they miss."""
    row = dy + t.pad + t.under[coming, 0] - 1
    col = dx + t.pad + t.under[coming, 1] - 1
    wide = t.reach[lying, 1] + t.under[coming, 1] - 1
    if row < 0 or col < 0 or col >= wide or row >= t.reach[lying, 0] + t.under[coming, 0] - 1:
        return 2 * CLEAR
    return int(t.pool[t.start[lying, coming] + row * wide + col])


@checked
def _order(t: Tables, p: Pile, over: ndarray, under: ndarray, order: ndarray) -> bool:
    """Order in which shapes can be let down, overlapping pairs going the shorter way; False if in a ring."""
    count, done = p.pose.shape[0], 0
    over[:], under[:] = False, 0
    for a in range(count):
        for b in range(a):
            dy, dx = p.y[b] - p.y[a], p.x[b] - p.x[a]
            up = above(t, p.pose[a], p.pose[b], dy, dx)
            down = above(t, p.pose[b], p.pose[a], -dy, -dx)
            if up >= CLEAR and down >= CLEAR:
                dz = p.z[b] - p.z[a]
                b_on_top = up - dz <= down + dz
                over[a, b], over[b, a] = b_on_top, not b_on_top
                under[b if b_on_top else a] += 1
    for a in range(count):
        if under[a] == 0:
            order[done] = a
            done += 1
    k = 0
    while k < done:
        for b in range(count):
            if over[order[k], b]:
                under[b] -= 1
                if under[b] == 0:
                    order[done] = b
                    done += 1
        k += 1
    return bool(done == count)


@checked
def settle(t: Tables, p: Pile, free: ndarray, z: ndarray, order: ndarray) -> int:
    """Top of the pile [um] when every shape is let down as far as those under it allow; -1 if it cannot be.

    `z` (n,) gets the heights and `order` (n,) the order in which shapes can be let down. Fixed shapes stay.
    """
    count = p.pose.shape[0]
    over, under = np.empty((count, count), np.bool_), np.empty(count, np.int64)
    if not _order(t, p, over, under, order):
        return -1
    top = 0
    for k in range(count):
        a = order[k]
        low = 0
        for m in range(k):
            b = order[m]
            if over[b, a]:
                low = max(low, z[b] + above(t, p.pose[b], p.pose[a], p.y[a] - p.y[b], p.x[a] - p.x[b]))
        if not free[a]:
            if low > p.z[a]:
                return -1
            low = p.z[a]
        z[a] = low
        top = max(top, low + t.high[p.pose[a]])
    return top
