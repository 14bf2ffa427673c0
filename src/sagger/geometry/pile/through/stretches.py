"""A shape seen along z over square columns: every stretch of heights at which a column meets its solid [mm].

Together they hold the solid for certain: a column meets it at a height either on its surface, found by
clipping triangles to the column, or inside, found by a ray through the column. Column (0, 0) starts at the
shape's lower corner; columns run along x, row after row along y.
"""

from __future__ import annotations

from math import ceil, floor
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.compiled import checked
from sagger.geometry.tree.cut import cut

_SKIN = 1e-7  # [mm] columns are narrower by this on each side, so that flush faces do not claim the next
_MOST = 32  # stretches of one grown column
_JOIN = 1e-6  # [mm] stretches closer than this are one
_HAIR = (0.5 + 1.7e-4, 0.5 + 2.3e-4)  # where in its column a ray stands: off the middle, where edges run


class Stretches(NamedTuple):
    """Stretches of solid, column by column, the lowest first within one."""

    first: ndarray  # int64 (ny * nx + 1,): where each column's stretches begin
    low: ndarray  # float64 (s,) [mm]
    high: ndarray  # float64 (s,) [mm]
    ny: int
    nx: int


def stretches(triangles: ndarray, pitch_mm: float) -> Stretches:
    """Stretches of a closed shape over columns `pitch_mm` wide.

    Parameters
    ----------
    triangles : ndarray
        float64 (m, 3, 3), lower corner of all at the origin, turned outward or all inward [mm].

    Where a ray does not come out of the surface as often as it went in, its column counts as solid between
    the lowest and the highest place where it met it.
    """
    extent = triangles.max(axis=(0, 1))
    nx, ny = (max(1, ceil(length / pitch_mm - 1e-6)) for length in extent[:2])
    count = _clipped(triangles, pitch_mm, (ny, nx), np.empty((0, 2)), np.empty(0, np.int64))
    ends, column = np.empty((count, 2)), np.empty(count, np.int64)
    _clipped(triangles, pitch_mm, (ny, nx), ends, column)
    inside, within = _inside(triangles, pitch_mm, ny, nx)
    return _sorted(np.concatenate((column, within)), np.concatenate((ends, inside)), ny, nx)


def grown(shape: Stretches, pitch_mm: float, gap_mm: float, pad: int) -> Stretches:
    """Stretches of all that is nearer than `gap_mm` to the shape, over `pad` more columns on every side."""
    off = np.arange(-pad, pad + 1)
    aside2 = np.add.outer(np.maximum(0, abs(off) - 1) ** 2, np.maximum(0, abs(off) - 1) ** 2) * pitch_mm**2
    near = np.argwhere(aside2 < gap_mm**2 - 1e-9)
    rises = np.sqrt(gap_mm**2 - aside2[near[:, 0], near[:, 1]])
    nearest = np.argsort(-rises, kind="stable")
    around = near[nearest] - pad, rises[nearest]
    first = np.zeros((shape.ny + 2 * pad) * (shape.nx + 2 * pad) + 1, np.int64)
    count = _spread(shape, around, pad, first, np.empty((0, 2)))
    ends = np.empty((count, 2))
    _spread(shape, around, pad, first, ends)
    return Stretches(first, ends[:, 0].copy(), ends[:, 1].copy(), shape.ny + 2 * pad, shape.nx + 2 * pad)


@checked
def _spread(
    shape: Stretches, around: tuple[ndarray, ndarray], pad: int, first: ndarray, ends: ndarray
) -> int:
    """Stretches of each column from those of the columns around it, nearest first; only counts if no room."""
    off, rises = around
    mine = np.empty((_MOST + 1, 2))
    wide, total = shape.nx + 2 * pad, 0
    for c in range(len(first) - 1):
        first[c], count = total, 0
        for k in range(len(rises)):
            j, i = c // wide - pad + off[k, 0], c % wide - pad + off[k, 1]
            if j < 0 or i < 0 or j >= shape.ny or i >= shape.nx:
                continue
            for s in range(shape.first[j * shape.nx + i], shape.first[j * shape.nx + i + 1]):
                count = _entered(mine, count, shape.low[s] - rises[k], shape.high[s] + rises[k])
        if ends.shape[0] > 0:
            ends[total : total + count] = mine[:count]
        total += count
    first[-1] = total
    return total


@checked
def _entered(mine: ndarray, count: int, low: float, high: float) -> int:
    """Enter a stretch among sorted ones that do not meet; how many there are then."""
    start = 0
    while start < count and mine[start, 1] < low - _JOIN:
        start += 1
    stop = start
    while stop < count and mine[stop, 0] <= high + _JOIN:
        low, high = min(low, mine[stop, 0]), max(high, mine[stop, 1])
        stop += 1
    if stop == start:
        for k in range(count, start, -1):
            mine[k] = mine[k - 1]
    else:
        for k in range(stop, count):
            mine[k - stop + start + 1] = mine[k]
    mine[start, 0], mine[start, 1] = low, high
    count += 1 - (stop - start)
    if count > _MOST:  # the two highest are made one
        mine[count - 2, 1] = mine[count - 1, 1]
        count -= 1
    return count


def coarser(shape: Stretches, times: int) -> Stretches:
    """The same over columns `times` as wide; (0, 0) keeps its corner."""
    column = np.repeat(np.arange(shape.ny * shape.nx), np.diff(shape.first))
    ny, nx = -(-shape.ny // times), -(-shape.nx // times)
    wide = column // shape.nx // times * nx + column % shape.nx // times
    return _sorted(wide, np.stack((shape.low, shape.high), axis=1), ny, nx)


def _sorted(column: ndarray, ends: ndarray, ny: int, nx: int) -> Stretches:
    order = np.lexsort((ends[:, 0], column))
    first, low, high = _joined(column[order], ends[order], ny * nx)
    return Stretches(first, low, high, ny, nx)


@checked
def _joined(column: ndarray, ends: ndarray, columns: int) -> tuple[ndarray, ndarray, ndarray]:
    """Stretches that meet made one, column by column."""
    first = np.zeros(columns + 1, np.int64)
    low, high = np.empty(len(column)), np.empty(len(column))
    count, k = 0, 0
    for c in range(columns):
        first[c] = count
        while k < len(column) and column[k] == c:
            if count == first[c] or ends[k, 0] > high[count - 1] + _JOIN:
                low[count], high[count] = ends[k, 0], ends[k, 1]
                count += 1
            else:
                high[count - 1] = max(high[count - 1], ends[k, 1])
            k += 1
    first[columns] = count
    return first, low[:count].copy(), high[:count].copy()


@checked
def _clipped(triangles: ndarray, pitch: float, shape: tuple[int, int], ends: ndarray, column: ndarray) -> int:
    """Range of heights of each triangle inside each column it meets; only counts if given no room."""
    one, two, row = np.empty((8, 3)), np.empty((8, 3)), np.empty((8, 3))
    crossed = 0
    for n in range(triangles.shape[0]):
        tri = triangles[n]
        top = max(0, floor(tri[:, 1].min() / pitch))
        for j in range(top, min(shape[0], floor(tri[:, 1].max() / pitch) + 1)):
            count = cut(tri, 3, 1, j * pitch + _SKIN, True, one)
            rows = cut(one, count, 1, (j + 1) * pitch - _SKIN, False, row)
            if rows == 0:
                continue
            left = max(0, floor(row[:rows, 0].min() / pitch))
            for i in range(left, min(shape[1], floor(row[:rows, 0].max() / pitch) + 1)):
                count = cut(row, rows, 0, i * pitch + _SKIN, True, one)
                count = cut(one, count, 0, (i + 1) * pitch - _SKIN, False, two)
                if count > 0:
                    if ends.shape[0] > 0:
                        ends[crossed, 0], ends[crossed, 1] = two[:count, 2].min(), two[:count, 2].max()
                        column[crossed] = j * shape[1] + i
                    crossed += 1
    return crossed


def _inside(triangles: ndarray, pitch: float, ny: int, nx: int) -> tuple[ndarray, ndarray]:
    """Ends of the stretches inside along the ray of each column, float64 (s, 2), and their columns."""
    count = _met(triangles, pitch, (ny, nx), np.empty((0, 2)), np.empty(0, np.int64))
    hits, column = np.empty((count, 2)), np.empty(count, np.int64)
    _met(triangles, pitch, (ny, nx), hits, column)
    volume = np.einsum("ij,ij->", triangles[:, 0], np.cross(triangles[:, 1], triangles[:, 2]))
    hits[:, 1] *= np.sign(volume)
    order = np.lexsort((hits[:, 0], column))
    return _between(hits[order], column[order])


@checked
def _met(triangles: ndarray, pitch: float, shape: tuple[int, int], hits: ndarray, column: ndarray) -> int:
    """Height and way (1 in, -1 out, of a surface turned outward) where rays meet triangles; how many."""
    count = 0
    for n in range(triangles.shape[0]):
        ax, ay, az = triangles[n, 0]
        bx, by, bz = triangles[n, 1]
        cx, cy, cz = triangles[n, 2]
        area = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay)
        if area == 0.0:
            continue
        first_x = max(0, ceil(min(ax, bx, cx) / pitch - _HAIR[0]))
        first_y = max(0, ceil(min(ay, by, cy) / pitch - _HAIR[1]))
        for j in range(first_y, min(shape[0], floor(max(ay, by, cy) / pitch - _HAIR[1]) + 1)):
            y = (j + _HAIR[1]) * pitch
            for i in range(first_x, min(shape[1], floor(max(ax, bx, cx) / pitch - _HAIR[0]) + 1)):
                x = (i + _HAIR[0]) * pitch
                u = ((bx - x) * (cy - y) - (cx - x) * (by - y)) / area
                v = ((cx - x) * (ay - y) - (ax - x) * (cy - y)) / area
                if u < 0.0 or v < 0.0 or u + v > 1.0:
                    continue
                if hits.shape[0] > 0:
                    hits[count, 0] = u * az + v * bz + (1.0 - u - v) * cz
                    hits[count, 1] = -1.0 if area > 0.0 else 1.0
                    column[count] = j * shape[1] + i
                count += 1
    return count


@checked
def _between(hits: ndarray, column: ndarray) -> tuple[ndarray, ndarray]:
    """Stretches between going in and coming out; the whole of a column that does not come out even."""
    ends, where = np.empty((len(column), 2)), np.empty(len(column), np.int64)
    count, k = 0, 0
    while k < len(column):
        start, depth, even, begun = k, 0, True, count
        while k < len(column) and column[k] == column[start]:
            before = depth
            depth += int(hits[k, 1])
            even = even and depth >= 0
            if before == 0 and depth == 1:
                ends[count, 0], where[count] = hits[k, 0], column[k]
            elif before == 1 and depth == 0:
                ends[count, 1] = hits[k, 0]
                count += 1
            k += 1
        if depth != 0 or not even:
            ends[begun, 0], ends[begun, 1], where[begun] = hits[start, 0], hits[k - 1, 0], column[start]
            count = begun + 1
    return ends[:count].copy(), where[:count].copy()
