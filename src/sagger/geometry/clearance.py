"""Exact distance between two closed surfaces, by a tree of boxes over the triangles of each. [mm]

Knows nothing of columns or nesting, so it can judge what they give.
"""

from __future__ import annotations

from math import atan2, pi, sqrt
from typing import Any, NamedTuple

import numpy as np
from numba import njit
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from sagger.geometry.triangles import triangles_apart2

_LEAF = 4  # triangles in a leaf
_DEEP = 256  # pairs of boxes that may wait at once


class Tree(NamedTuple):
    """Boxes over the triangles of one surface; node 0 holds all."""

    triangles: np.ndarray  # float64 (m, 3, 3), in the order of the leaves
    boxes: np.ndarray  # float64 (n, 6): lower corner, upper corner
    kids: np.ndarray  # int64 (n, 2): two nodes, or (-1 - first triangle, count) for a leaf
    shells: np.ndarray  # float64 (s, 3): one point of each separate piece of surface


def tree(triangles: np.ndarray) -> Tree:
    """Tree of boxes over triangles (m, 3, 3), halved along the longest side of their middles."""
    middle = triangles.mean(axis=1)
    order = np.arange(len(triangles))
    kids: list[tuple[int, int]] = []
    boxes: list[np.ndarray] = []
    waiting = [(0, len(order), -1, 0)]
    while waiting:
        first, last, parent, side = waiting.pop()
        node, mine = len(kids), order[first:last]
        corners = triangles[mine].reshape(-1, 3)
        boxes.append(np.concatenate([corners.min(axis=0), corners.max(axis=0)]))
        kids.append((-1 - first, last - first))
        if parent >= 0:
            kids[parent] = (node, kids[parent][1]) if side == 0 else (kids[parent][0], node)
        if last - first > _LEAF:
            axis = int(np.argmax(np.ptp(middle[mine], axis=0)))
            half = (first + last) // 2
            order[first:last] = mine[np.argsort(middle[mine, axis], kind="stable")]
            waiting += [(half, last, node, 1), (first, half, node, 0)]
    kinds = np.array(kids, dtype=np.int64)
    return Tree(np.ascontiguousarray(triangles[order]), np.array(boxes), kinds, _shells(triangles))


def _shells(triangles: np.ndarray) -> np.ndarray:
    """One point of each separate piece of surface; triangles hang together where they share a corner."""
    _, corner = np.unique(triangles.reshape(-1, 3), axis=0, return_inverse=True)
    corner = corner.reshape(-1, 3)
    links = (np.ones(2 * len(corner)), (corner[:, [0, 1]].ravel(), corner[:, [1, 2]].ravel()))
    size = int(corner.max()) + 1
    _, label = connected_components(coo_matrix(links, shape=(size, size)), directed=False)
    _, first = np.unique(label[corner[:, 0]], return_index=True)
    return np.ascontiguousarray(triangles[np.sort(first), 0])


def apart(one: Tree, two: Tree, shift: np.ndarray, most: float) -> float:
    """Distance from `one` to `two` moved by `shift`, or `most` if they are farther than that. [mm]

    0 if the surfaces meet, and also if a piece of one lies inside the other.
    """
    gap = float(_apart(one, two, shift, most))
    if gap > 0.0 and (_holds(one, two, shift) or _holds(two, one, -shift)):
        return 0.0
    return gap


def _holds(outer: Tree, inner: Tree, shift: np.ndarray) -> bool:
    points = inner.shells + shift
    within = ((points > outer.boxes[0, :3]) & (points < outer.boxes[0, 3:])).all(axis=1)
    return any(abs(_winding(outer.triangles, point)) > 0.5 for point in points[within])


@njit(cache=True, nogil=True)
def _boxes_apart2(a: Any, b: Any, shift: Any) -> float:
    total = 0.0
    for k in range(3):
        off = max(a[k] - b[3 + k] - shift[k], b[k] + shift[k] - a[3 + k], 0.0)
        total += off * off
    return total


@njit(cache=True, nogil=True)
def _size(box: Any) -> float:
    return float((box[3] - box[0]) + (box[4] - box[1]) + (box[5] - box[2]))


@njit(cache=True, nogil=True)
def _leaves_apart2(one: Any, a: Any, two: Any, b: Any, shift: Any, best: float) -> float:
    moved = np.empty((3, 3))
    for m in range(-1 - two.kids[b, 0], -1 - two.kids[b, 0] + two.kids[b, 1]):
        for k in range(3):
            for axis in range(3):
                moved[k, axis] = two.triangles[m, k, axis] + shift[axis]
        for n in range(-1 - one.kids[a, 0], -1 - one.kids[a, 0] + one.kids[a, 1]):
            best = min(best, triangles_apart2(one.triangles[n], moved))
    return best


@njit(cache=True, nogil=True)
def _apart(one: Any, two: Any, shift: Any, most: float) -> float:
    """Walk both trees together, the nearer pair first, dropping pairs farther than the best so far."""
    best = most * most
    near = np.empty(_DEEP)
    left, right = np.empty(_DEEP, np.int64), np.empty(_DEEP, np.int64)
    near[0], left[0], right[0], count = _boxes_apart2(one.boxes[0], two.boxes[0], shift), 0, 0, 1
    while count > 0 and best > 0.0:
        count -= 1
        if near[count] >= best:
            continue
        a, b = left[count], right[count]
        a_leaf, b_leaf = one.kids[a, 0] < 0, two.kids[b, 0] < 0
        if a_leaf and b_leaf:
            best = _leaves_apart2(one, a, two, b, shift, best)
            continue
        split_a = not a_leaf and (b_leaf or _size(one.boxes[a]) >= _size(two.boxes[b]))
        for k in range(2):
            left[count + k] = one.kids[a, k] if split_a else a
            right[count + k] = b if split_a else two.kids[b, k]
            near[count + k] = _boxes_apart2(one.boxes[left[count + k]], two.boxes[right[count + k]], shift)
        if near[count] < near[count + 1]:  # the nearer on top
            near[count], near[count + 1] = near[count + 1], near[count]
            left[count], left[count + 1] = left[count + 1], left[count]
            right[count], right[count + 1] = right[count + 1], right[count]
        count += 2
    return sqrt(best)


@njit(cache=True, nogil=True)
def _winding(triangles: Any, p: Any) -> float:
    """How many times the surface goes round `p`: its solid angle over 4 pi (Van Oosterom, Strackee 1983)."""
    total = 0.0
    for n in range(triangles.shape[0]):
        a, b, c = triangles[n, 0] - p, triangles[n, 1] - p, triangles[n, 2] - p
        la, lb, lc = sqrt((a * a).sum()), sqrt((b * b).sum()), sqrt((c * c).sum())
        det = (
            a[0] * (b[1] * c[2] - b[2] * c[1])
            + a[1] * (b[2] * c[0] - b[0] * c[2])
            + a[2] * (b[0] * c[1] - b[1] * c[0])
        )
        total += 2.0 * atan2(det, la * lb * lc + (a * b).sum() * lc + (b * c).sum() * la + (c * a).sum() * lb)
    return total / (4.0 * pi)
