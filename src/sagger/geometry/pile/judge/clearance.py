"""Exact distance between two closed surfaces, by the tree of boxes over the triangles of each. [mm]

Knows nothing of columns or nesting, so it can judge what they give.
"""

from __future__ import annotations

from math import sqrt
from typing import NamedTuple

import numpy as np
from numpy import ndarray
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from sagger.compiled import checked
from sagger.geometry.pile.judge.winding import windings
from sagger.geometry.tree import bvh
from sagger.geometry.tree.bvh import LEAF, TriangleTree
from sagger.geometry.tree.triangles import triangles_apart2

_DEEP = 256  # pairs of boxes that may wait at once


class ClosedSurface(NamedTuple):
    """One surface to be judged: boxes over its triangles, and where to ask whether it lies inside another."""

    tree: TriangleTree
    shells: np.ndarray  # float64 (s, 3): one point of each separate piece of surface

    @property
    def box(self) -> np.ndarray:
        """Lower and upper corner, float64 (6,)."""
        return np.concatenate([self.tree.low[0], self.tree.high[0]])


def surface(triangles: np.ndarray) -> ClosedSurface:
    """Triangles (m, 3, 3), any one unit of length, as they are judged."""
    return ClosedSurface(bvh.over(triangles), _shells(triangles))


def _shells(triangles: np.ndarray) -> np.ndarray:
    """One point of each separate piece of surface; triangles hang together where they share a corner."""
    _, corner = np.unique(triangles.reshape(-1, 3), axis=0, return_inverse=True)
    corner = corner.reshape(-1, 3)
    links = (np.ones(2 * len(corner)), (corner[:, [0, 1]].ravel(), corner[:, [1, 2]].ravel()))
    size = int(corner.max()) + 1
    _, label = connected_components(coo_matrix(links, shape=(size, size)), directed=False)
    _, first = np.unique(label[corner[:, 0]], return_index=True)
    return np.ascontiguousarray(triangles[np.sort(first), 0])


def apart(one: ClosedSurface, two: ClosedSurface, shift: np.ndarray, most: float) -> float:
    """Distance from `one` to `two` moved by `shift`, or `most` if they are farther than that. [mm]

    0 if the surfaces meet, and also if a piece of one lies inside the other.
    """
    gap = float(_apart(one.tree, two.tree, shift, most))
    if gap > 0.0 and (_holds(one, two, shift) or _holds(two, one, -shift)):
        return 0.0
    return gap


def _holds(outer: ClosedSurface, inner: ClosedSurface, shift: np.ndarray) -> bool:
    points = inner.shells + shift
    within = ((points > outer.tree.low[0]) & (points < outer.tree.high[0])).all(axis=1)
    real = outer.tree.corners[outer.tree.order >= 0]
    return bool(np.any(np.abs(windings(real, points[within])) > 0.5))


@checked
def _boxes_apart2(
    low: ndarray, high: ndarray, other_low: ndarray, other_high: ndarray, shift: ndarray
) -> float:
    """Between a box and another moved by `shift`; infinite where one holds nothing."""
    total = 0.0
    for k in range(3):
        off = max(low[k] - other_high[k] - shift[k], other_low[k] + shift[k] - high[k], 0.0)
        total += off * off
    return total


@checked
def _size(low: ndarray, high: ndarray) -> float:
    return float((high[0] - low[0]) + (high[1] - low[1]) + (high[2] - low[2]))


@checked
def _leaves_apart2(
    one: TriangleTree, a: int, two: TriangleTree, b: int, shift: ndarray, best: float
) -> float:
    moved = np.empty((3, 3))
    for m in range(b * LEAF, (b + 1) * LEAF):
        if two.order[m] < 0:
            continue
        for k in range(3):
            for axis in range(3):
                moved[k, axis] = two.corners[m, k, axis] + shift[axis]
        for n in range(a * LEAF, (a + 1) * LEAF):
            if one.order[n] >= 0:
                best = min(best, triangles_apart2(one.corners[n], moved))
    return best


@checked
def _apart(one: TriangleTree, two: TriangleTree, shift: ndarray, most: float) -> float:
    """Walk both trees together, the nearer pair first, dropping pairs farther than the best so far."""
    best = most * most
    inner_one, inner_two = len(one.low) // 2, len(two.low) // 2
    near = np.empty(_DEEP)
    left, right = np.empty(_DEEP, np.int64), np.empty(_DEEP, np.int64)
    near[0] = _boxes_apart2(one.low[0], one.high[0], two.low[0], two.high[0], shift)
    left[0], right[0], count = 0, 0, 1
    while count > 0 and best > 0.0:
        count -= 1
        if near[count] >= best:
            continue
        a, b = left[count], right[count]
        a_leaf, b_leaf = a >= inner_one, b >= inner_two
        if a_leaf and b_leaf:
            best = _leaves_apart2(one, a - inner_one, two, b - inner_two, shift, best)
            continue
        split_a = not a_leaf and (b_leaf or _size(one.low[a], one.high[a]) >= _size(two.low[b], two.high[b]))
        for k in range(2):
            c, d = (2 * a + 1 + k, b) if split_a else (a, 2 * b + 1 + k)
            left[count + k], right[count + k] = c, d
            near[count + k] = _boxes_apart2(one.low[c], one.high[c], two.low[d], two.high[d], shift)
        if near[count] < near[count + 1]:  # the nearer on top
            near[count], near[count + 1] = near[count + 1], near[count]
            left[count], left[count + 1] = left[count + 1], left[count]
            right[count], right[count + 1] = right[count + 1], right[count]
        count += 2
    return sqrt(best)
