"""A tree of boxes over triangles: first hit of a ray, nearest triangle [mm]."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.compiled import checked
from sagger.geometry.tree.triangles import nearest_on_triangle
from sagger.goods.shape import Shape

LEAF = 4  # triangles in one leaf


class TriangleTree(NamedTuple):
    """A full binary tree kept as a heap: children of box i are 2i+1 and 2i+2."""

    low: ndarray  # float64 (2n-1, 3)
    high: ndarray  # float64 (2n-1, 3)
    order: ndarray  # int64 (LEAF n,): triangles leaf by leaf, -1 = none
    corners: ndarray  # float64 (LEAF n, 3, 3): of those triangles; 0 where there is none


def tree(body: Shape) -> TriangleTree:
    """Boxes over the triangles of a shape."""
    return over(body.vertices[body.triangles])


def over(points: ndarray) -> TriangleTree:
    """Boxes over triangles (m, 3, 3), halved along the longest side of each box's middles."""
    count = len(points)
    leaves = 1 << max(0, (-(-count // LEAF) - 1).bit_length())
    order = _halved(points.mean(axis=1), leaves)
    low = np.full((len(order), 3), np.inf)
    high = np.full((len(order), 3), -np.inf)
    real = order >= 0
    low[real], high[real] = points[order[real]].min(axis=1), points[order[real]].max(axis=1)
    corners = np.zeros((len(order), 3, 3))
    corners[real] = points[order[real]]
    return TriangleTree(_heap(low, np.minimum), _heap(high, np.maximum), order, corners)


def _halved(middles: ndarray, leaves: int) -> ndarray:
    """Triangles in the order of the leaves; all boxes of one level are halved at once."""
    order = np.full(leaves * LEAF, -1, dtype=np.int64)
    order[: len(middles)] = np.arange(len(middles))
    boxes = 1
    while boxes < leaves:
        rows = order.reshape(boxes, -1)
        places = np.where(rows[..., None] >= 0, middles[rows], np.nan)
        with np.errstate(invalid="ignore"):
            size = np.nan_to_num(_span(places))
        along = np.take_along_axis(places, size.argmax(axis=1)[:, None, None], axis=2)[..., 0]
        rows = np.take_along_axis(rows, np.argsort(along, axis=1, kind="stable"), axis=1)
        order, boxes = _shared_out(rows).ravel(), boxes * 2
    return order


def _shared_out(rows: ndarray) -> ndarray:
    """Each row with half of its triangles, which stand first, in either half of its places."""
    half = rows.shape[1] // 2
    count = (rows >= 0).sum(axis=1, keepdims=True)
    here = np.arange(half)
    first, rest = (count + 1) // 2, count // 2
    left = np.where(here < first, rows[:, :half], -1)
    right = np.take_along_axis(rows, np.minimum(first + here, rows.shape[1] - 1), axis=1)
    return np.concatenate([left, np.where(here < rest, right, -1)], axis=1)


def _span(places: ndarray) -> ndarray:
    """Extent of each row of points (b, n, 3), NaN left out."""
    return np.asarray(np.fmax.reduce(places, axis=1) - np.fmin.reduce(places, axis=1))


def _heap(leaves: ndarray, join: np.ufunc) -> ndarray:
    level = join.reduce(leaves.reshape(-1, LEAF, 3), axis=1)
    levels = [level]
    while len(level) > 1:
        level = join(level[0::2], level[1::2])
        levels.append(level)
    return np.concatenate(levels[::-1])


@checked
def first_hits(
    boxes: TriangleTree, origins: ndarray, directions: ndarray, own: ndarray
) -> tuple[ndarray, ndarray]:
    """Distance to the first triangle along each ray, and that triangle.

    Parameters
    ----------
    boxes : Tree
    origins, directions : float64 (n, 3) [mm], unit length
    own : int64 (n,)
        Triangle on which the ray starts; it is never hit.

    Returns
    -------
    float64 (n,) [mm] and int64 (n,); infinity and -1 where nothing is hit.

    Source
    ------
    Möller & Trumbore 1997, J. Graphics Tools 2(1), 21 (from memory).
    """
    least = np.full(len(origins), np.inf)
    which = np.full(len(origins), -1, dtype=np.int64)
    nodes, entries = np.empty(64, dtype=np.int64), np.empty(64)
    inverse = np.empty(3)
    inner = len(boxes.low) // 2
    for ray in range(len(origins)):
        origin, direction = origins[ray], directions[ray]
        for axis in range(3):
            inverse[axis] = 1 / direction[axis] if abs(direction[axis]) > 1e-300 else 1e300
        nodes[0], entries[0], top = 0, 0.0, 1
        while top:
            top -= 1
            node = nodes[top]
            if entries[top] >= least[ray]:
                continue
            if node < inner:
                near, far = 2 * node + 1, 2 * node + 2
                to_near = _entry(boxes.low[near], boxes.high[near], origin, inverse)
                to_far = _entry(boxes.low[far], boxes.high[far], origin, inverse)
                if to_near > to_far:
                    near, far, to_near, to_far = far, near, to_far, to_near
                if to_far < least[ray]:
                    nodes[top], entries[top] = far, to_far
                    top += 1
                if to_near < least[ray]:
                    nodes[top], entries[top] = near, to_near
                    top += 1
                continue
            distance, triangle = _leaf_hit(boxes, node - inner, origin, direction, own[ray])
            if distance < least[ray]:
                least[ray], which[ray] = distance, triangle
    return least, which


@checked
def _leaf_hit(
    boxes: TriangleTree, leaf: int, origin: ndarray, direction: ndarray, own: int
) -> tuple[float, int]:
    """Nearest hit among the triangles of one leaf."""
    least, which = np.inf, -1
    for slot in range(leaf * LEAF, (leaf + 1) * LEAF):
        triangle = boxes.order[slot]
        if triangle >= 0 and triangle != own:
            distance = _triangle_hit(boxes.corners[slot], origin, direction)
            if distance < least:
                least, which = distance, triangle
    return least, which


@checked
def _entry(low: ndarray, high: ndarray, origin: ndarray, inverse: ndarray) -> float:
    """Distance along the ray at which it enters the box, infinity if it misses or the box is empty."""
    if low[0] > high[0]:
        return np.inf
    near, far = 0.0, np.inf
    for axis in range(3):
        a = (low[axis] - origin[axis]) * inverse[axis]
        b = (high[axis] - origin[axis]) * inverse[axis]
        near, far = max(near, min(a, b)), min(far, max(a, b))
    return near if near <= far * (1 + 1e-12) else np.inf


@checked
def _triangle_hit(tri: ndarray, p: ndarray, d: ndarray) -> float:
    """Distance along the ray from p, infinity if it misses."""
    ux, uy, uz = tri[1, 0] - tri[0, 0], tri[1, 1] - tri[0, 1], tri[1, 2] - tri[0, 2]
    vx, vy, vz = tri[2, 0] - tri[0, 0], tri[2, 1] - tri[0, 1], tri[2, 2] - tri[0, 2]
    px, py, pz = d[1] * vz - d[2] * vy, d[2] * vx - d[0] * vz, d[0] * vy - d[1] * vx
    det = ux * px + uy * py + uz * pz
    if abs(det) < 1e-14 * np.sqrt((ux * ux + uy * uy + uz * uz) * (vx * vx + vy * vy + vz * vz)):
        return np.inf
    wx, wy, wz = p[0] - tri[0, 0], p[1] - tri[0, 1], p[2] - tri[0, 2]
    s = (wx * px + wy * py + wz * pz) / det
    qx, qy, qz = wy * uz - wz * uy, wz * ux - wx * uz, wx * uy - wy * ux
    t = (d[0] * qx + d[1] * qy + d[2] * qz) / det
    if s < -1e-9 or t < -1e-9 or s + t > 1 + 1e-9:
        return np.inf
    distance = (vx * qx + vy * qy + vz * qz) / det
    return distance if distance > 1e-7 else np.inf


@checked
def nearest(boxes: TriangleTree, points: ndarray) -> ndarray:
    """Distance from each point (n, 3) to the surface, float64 (n,) [mm]."""
    distances = np.empty(len(points))
    stack = np.empty(64, dtype=np.int64)
    inner = len(boxes.low) // 2
    for index in range(len(points)):
        point = points[index]
        best = np.inf
        stack[0], top = 0, 1
        while top:
            top -= 1
            node = stack[top]
            if _box_distance2(boxes.low[node], boxes.high[node], point) >= best:
                continue
            if node < inner:
                left, right = 2 * node + 1, 2 * node + 2
                if _box_distance2(boxes.low[left], boxes.high[left], point) < _box_distance2(
                    boxes.low[right], boxes.high[right], point
                ):
                    left, right = right, left
                stack[top], stack[top + 1] = left, right
                top += 2
                continue
            for slot in range((node - inner) * LEAF, (node - inner + 1) * LEAF):
                if boxes.order[slot] >= 0:
                    x, y, z = nearest_on_triangle(point, boxes.corners[slot])
                    away = (x - point[0]) ** 2 + (y - point[1]) ** 2 + (z - point[2]) ** 2
                    best = min(best, away)
        distances[index] = np.sqrt(best)
    return distances


@checked
def _box_distance2(low: ndarray, high: ndarray, point: ndarray) -> float:
    total = 0.0
    for axis in range(3):
        off = max(low[axis] - point[axis], 0.0, point[axis] - high[axis])
        total += off * off
    return total
