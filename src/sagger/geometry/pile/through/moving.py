"""The best place for one shape among the others: every place of the whole box, or of a window of it, weighed.

Each place costs the sum over all other shapes of weight times way out; lines of the pair tables are added up
along z. The least wins, and equals draw lots.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.compiled import inner, kernel
from sagger.geometry.pile.through.crowd import Crowd
from sagger.geometry.pile.through.tables import PairTables

_MUCH = np.int32(2**31 - 1)
_LINE = 40  # table places that could be added up in the time that a line takes besides
_FEW = 6  # lines around which is looked again


class Window(NamedTuple):
    """Places that are looked at: from a corner, so many along y, x and z."""

    y: int
    x: int
    z: int
    deep: int
    wide: int
    high: int


class BestPlace(NamedTuple):
    cost: int
    y: int
    x: int
    z: int
    work: int  # effort, in table places added up


@kernel
def best_place(t: PairTables, c: Crowd, i: int, pose: int, w: Window, lift: int) -> BestPlace:
    """Where in a window shape i costs least in this pose; each step of height costs `lift` besides."""
    some = np.zeros((1, 5), np.int64)
    work = _sweep(t, c, (i, pose), w, (lift, 1, 0), some)
    return BestPlace(some[0, 0], some[0, 1], some[0, 2], some[0, 3], work)


@kernel
def good_place(t: PairTables, c: Crowd, i: int, pose: int, w: Window, stride: int) -> BestPlace:
    """As `best_place`, but only every so many rows are looked at, then all around the best few places."""
    some = np.zeros((_FEW, 5), np.int64)
    phase = np.random.randint(min(stride, w.deep))
    work = _sweep(t, c, (i, pose), w, (0, stride, phase), some)
    best = BestPlace(some[0, 0], some[0, 1], some[0, 2], some[0, 3], work)
    one = np.zeros((1, 5), np.int64)
    for k in range(_FEW):
        if best.cost == 0 or some[k, 0] >= _MUCH:
            break
        y, deep = around(some[k, 1] - w.y, stride - 1, w.deep)
        x, wide = around(some[k, 2] - w.x, 2, w.wide)
        z, high = around(some[k, 3] - w.z, 4, w.high)
        work += _sweep(t, c, (i, pose), Window(w.y + y, w.x + x, w.z + z, deep, wide, high), (0, 1, 0), one)
        if one[0, 0] < best.cost:
            best = BestPlace(one[0, 0], one[0, 1], one[0, 2], one[0, 3], work)
    return BestPlace(best.cost, best.y, best.x, best.z, work)


@kernel
def around(middle: int, reach: int, places: int) -> tuple[int, int]:
    """First place and number of places within reach of one, of so many in all."""
    first = max(0, min(middle - reach, places - 1))
    return first, max(1, min(middle + reach + 1, places) - first)


@kernel
def _sweep(
    t: PairTables, c: Crowd, moved: tuple[int, int], w: Window, by: tuple[int, int, int], some: ndarray
) -> int:
    """Least places of different lines into `some` (cost, y, x, z, lot), the least first; the effort.

    `moved`: shape and pose; `by`: cost of a step of height, every how many rows are looked at, which first.
    """
    near = _near(t, c, moved[0], moved[1], w)
    row = np.empty((w.wide, w.high), np.int32)
    some[:, 0] = _MUCH
    lift, stride, worst, work = by[0], by[1], int(_MUCH), _LINE * c.pose.shape[0]
    for y in range(w.y + by[2], w.y + w.deep, stride):
        for x in range(w.wide):
            for z in range(w.high):
                row[x, z] = lift * z
            work += _LINE + w.high
        work += _add_up(t, c, moved, Window(y, w.x, w.z, 1, w.wide, w.high), near, row)
        for x in range(w.wide):
            line, low = row[x], int(_MUCH)
            for z in range(w.high):
                low = min(low, line[z])
            if low <= worst:
                worst = _enter(some, low, y, w.x + x, w.z + _drawn(line, low))
    return int(work)


@kernel
def _drawn(line: ndarray, low: int) -> int:
    """Where a line is lowest, equals by lot."""
    picked, equals = 0, 0
    for z in range(line.shape[0]):
        if line[z] == low:
            equals += 1
            if np.random.random() * equals < 1.0:
                picked = z
    return picked


@kernel
def _enter(some: ndarray, low: int, y: int, x: int, z: int) -> int:
    """Enter a place among the best, before or after equals by lot; the cost of the last of them."""
    k, lot = some.shape[0] - 1, np.random.randint(1 << 30)
    if low == some[k, 0] and lot > some[k, 4]:
        return int(low)
    while k > 0 and (low < some[k - 1, 0] or (low == some[k - 1, 0] and lot < some[k - 1, 4])):
        some[k] = some[k - 1]
        k -= 1
    some[k, 0], some[k, 1], some[k, 2], some[k, 3], some[k, 4] = low, y, x, z, lot
    return int(some[-1, 0])


@kernel
def _near(t: PairTables, c: Crowd, i: int, pose: int, w: Window) -> ndarray:
    """Shapes whose tables reach into the window."""
    out = np.empty(c.pose.shape[0], np.int64)
    count = 0
    for j in range(c.pose.shape[0]):
        size, origin = t.size[pose, c.pose[j]], t.origin[pose, c.pose[j]]
        by, bx, bz = c.at[j, 0] - origin[0], c.at[j, 1] - origin[1], c.at[j, 2] - origin[2]
        if j == i or bz >= w.z + w.high or bz + size[2] <= w.z or by >= w.y + w.deep or by + size[0] <= w.y:
            continue
        if bx < w.x + w.wide and bx + size[1] > w.x:
            out[count] = j
            count += 1
    return out[:count]


@kernel
def _add_up(t: PairTables, c: Crowd, moved: tuple[int, int], w: Window, near: ndarray, row: ndarray) -> int:
    """Add the cost of all places in a window of one row; the effort."""
    i, pose = moved
    work = 0
    for j in near:
        other = c.pose[j]
        size_x, size_z = t.size[pose, other, 1], t.size[pose, other, 2]
        dy = w.y - c.at[j, 0] + t.origin[pose, other, 0]
        if dy < 0 or dy >= t.size[pose, other, 0]:
            continue
        bx, bz = c.at[j, 1] - t.origin[pose, other, 1], c.at[j, 2] - t.origin[pose, other, 2]
        weight, number = c.weight[i, j], dy * size_x - bx
        line, start = t.line[pose, other] + number, t.start[pose, other] + number * size_z - bz
        for x in range(max(w.x, bx), min(w.x + w.wide, bx + size_x)):
            z0, z1 = max(w.z, bz + t.used[line + x, 0]), min(w.z + w.high, bz + t.used[line + x, 1])
            if z0 >= z1:
                continue
            work += _LINE + z1 - z0
            _add(t.pool, start + x * size_z + z0, row[x - w.x], z0 - w.z, z1 - z0, weight)
    return work


@inner
def _add(pool: ndarray, start: int, cost: ndarray, at: int, count: int, weight: int) -> None:
    ways, line = pool[start : start + count], cost[at : at + count]
    for z in range(count):
        line[z] += weight * np.int32(ways[z])
