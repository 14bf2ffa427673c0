"""Whether one shape meets another while it is moved away in a straight line, exactly on their triangles [mm].

Knows nothing of columns or nesting, so it can judge what they give.
"""

from __future__ import annotations

from math import sqrt
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.compiled import checked
from sagger.geometry.pile.judge.clearance import ClosedSurface
from sagger.geometry.tree.bvh import LEAF, TriangleTree

_SKIN = 1e-6  # [mm] shapes that pass closer than this do not meet: flush faces slide along each other
_DEEP = 512  # pairs of boxes that may wait at once


class Way(NamedTuple):
    """A direction to move in, with two axes across it."""

    along: np.ndarray  # float64 (3,), length 1
    right: np.ndarray  # float64 (3,), length 1
    up: np.ndarray  # float64 (3,), length 1; right x up = along


def way(direction: tuple[float, float, float]) -> Way:
    """The way in a direction of any length."""
    along = np.array(direction, dtype=float) / float(np.linalg.norm(direction))
    aside = np.eye(3)[int(np.argmin(np.abs(along)))]
    right = np.cross(aside, along)
    right /= np.linalg.norm(right)
    return Way(along, right, np.cross(along, right))


def leaves(one: ClosedSurface, two: ClosedSurface, shift: np.ndarray, out: Way) -> bool:
    """True if `one` can be moved out along a straight way for ever without meeting `two` moved by `shift`.

    Both surfaces are taken as closed and as not meeting where they lie. Faces that only touch do not count.

    Source
    ------
    On every line along the way, all of the moved shape must lie beyond all of the other. Both are flat over
    the polygon that two triangles share when seen along the way, so its corners tell.
    """
    return not bool(_meets(one.tree, two.tree, shift, out))


@checked
def _boxes_meet(one: TriangleTree, a: int, two: TriangleTree, b: int, shift: ndarray, along: ndarray) -> bool:
    """True if box `a`, moved along, ever shares room with box `b` moved by `shift`; never if one is empty."""
    first, last = 0.0, np.inf
    if one.low[a, 0] > one.high[a, 0] or two.low[b, 0] > two.high[b, 0]:
        return False
    for k in range(3):
        low = two.low[b, k] + shift[k] - one.high[a, k] + _SKIN
        high = two.high[b, k] + shift[k] - one.low[a, k] - _SKIN
        if along[k] == 0.0:
            if low >= 0.0 or high <= 0.0:
                return False
            continue
        enter, leave = low / along[k], high / along[k]
        first, last = max(first, min(enter, leave)), min(last, max(enter, leave))
    return bool(first < last)


@checked
def _seen(tri: ndarray, shift: ndarray, out: Way, flat: ndarray) -> float:
    """Triangle seen along the way, counter-clockwise: right, up, depth of each corner; twice its area."""
    for k in range(3):
        x, y, z = tri[k, 0] + shift[0], tri[k, 1] + shift[1], tri[k, 2] + shift[2]
        flat[k, 0] = x * out.right[0] + y * out.right[1] + z * out.right[2]
        flat[k, 1] = x * out.up[0] + y * out.up[1] + z * out.up[2]
        flat[k, 2] = x * out.along[0] + y * out.along[1] + z * out.along[2]
    area = (flat[1, 0] - flat[0, 0]) * (flat[2, 1] - flat[0, 1])
    area -= (flat[2, 0] - flat[0, 0]) * (flat[1, 1] - flat[0, 1])
    if area < 0.0:
        for k in range(3):
            flat[1, k], flat[2, k] = flat[2, k], flat[1, k]
    return float(abs(area))


@checked
def _clipped(points: ndarray, count: int, a: ndarray, b: ndarray, out: ndarray) -> int:
    """What of a polygon (count, 3) lies left of the line from `a` to `b`; how many corners are in `out`."""
    corners = 0
    for k in range(count):
        p, q = points[k], points[(k + 1) % count]
        dp = (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])
        dq = (b[0] - a[0]) * (q[1] - a[1]) - (b[1] - a[1]) * (q[0] - a[0])
        if dp >= 0.0:
            out[corners] = p
            corners += 1
        if (dp > 0.0 and dq < 0.0) or (dp < 0.0 and dq > 0.0):
            t = dp / (dp - dq)
            for m in range(3):
                out[corners, m] = p[m] + t * (q[m] - p[m])
            corners += 1
    return corners


@checked
def _wide(points: ndarray, count: int) -> bool:
    """True if a polygon is wider than the skin: rounding gives slivers along flush faces."""
    area, longest = 0.0, 0.0
    for k in range(count):
        p, q = points[k], points[(k + 1) % count]
        area += (p[0] - points[0, 0]) * (q[1] - points[0, 1]) - (q[0] - points[0, 0]) * (p[1] - points[0, 1])
        longest = max(longest, (q[0] - p[0]) ** 2 + (q[1] - p[1]) ** 2)
    return bool(abs(area) > 2.0 * _SKIN * sqrt(longest))


@checked
def _ahead(moved: ndarray, other: ndarray, room: ndarray) -> bool:
    """True if some of `other` lies before `moved` where both are seen; corners as `_seen` gives them."""
    one, two = room[0], room[1]
    count = _clipped(moved, 3, other[0], other[1], one)
    count = _clipped(one, count, other[1], other[2], two)
    count = _clipped(two, count, other[2], other[0], one)
    if count < 3 or not _wide(one, count):
        return False
    ux, uy, uz = other[1, 0] - other[0, 0], other[1, 1] - other[0, 1], other[1, 2] - other[0, 2]
    vx, vy, vz = other[2, 0] - other[0, 0], other[2, 1] - other[0, 1], other[2, 2] - other[0, 2]
    area = ux * vy - uy * vx
    for k in range(count):
        x, y = one[k, 0] - other[0, 0], one[k, 1] - other[0, 1]
        s, t = (x * vy - y * vx) / area, (ux * y - uy * x) / area
        if other[0, 2] + s * uz + t * vz > one[k, 2] + _SKIN:
            return True
    return False


@checked
def _leaves_meet(one: TriangleTree, a: int, two: TriangleTree, b: int, shift: ndarray, out: Way) -> bool:
    moved, other, room, still = np.empty((3, 3)), np.empty((3, 3)), np.empty((2, 9, 3)), np.zeros(3)
    for m in range(b * LEAF, (b + 1) * LEAF):
        if two.order[m] < 0 or _seen(two.corners[m], shift, out, other) <= _SKIN * _SKIN:
            continue
        for n in range(a * LEAF, (a + 1) * LEAF):
            if one.order[n] < 0 or _seen(one.corners[n], still, out, moved) <= _SKIN * _SKIN:
                continue
            if _ahead(moved, other, room):
                return True
    return False


@checked
def _meets(one: TriangleTree, two: TriangleTree, shift: ndarray, out: Way) -> bool:
    """Walk both trees together, dropping pairs of boxes that never meet on the way."""
    left, right = np.empty(_DEEP, np.int64), np.empty(_DEEP, np.int64)
    left[0], right[0], count = 0, 0, 1
    inner_one, inner_two = len(one.low) // 2, len(two.low) // 2
    while count > 0:
        count -= 1
        a, b = left[count], right[count]
        if not _boxes_meet(one, a, two, b, shift, out.along):
            continue
        a_leaf, b_leaf = a >= inner_one, b >= inner_two
        if a_leaf and b_leaf:
            if _leaves_meet(one, a - inner_one, two, b - inner_two, shift, out):
                return True
            continue
        size_a = (one.high[a] - one.low[a]).sum()
        split_a = not a_leaf and (b_leaf or size_a >= (two.high[b] - two.low[b]).sum())
        for k in range(2):
            left[count + k] = 2 * a + 1 + k if split_a else a
            right[count + k] = b if split_a else 2 * b + 1 + k
        count += 2
    return False
