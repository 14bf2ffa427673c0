"""A tree of boxes over triangles: first hit of a ray, nearest triangle, crossing triangles [mm]."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numba import njit
from numpy import ndarray

from sagger.geometry.mesh import corners
from sagger.geometry.triangles import nearest_on_triangle
from sagger.goods.shape import Shape

LEAF = 4  # triangles in one leaf


class Tree(NamedTuple):
    """A full binary tree kept as a heap: children of box i are 2i+1 and 2i+2."""

    low: ndarray  # float64 (2n-1, 3)
    high: ndarray  # float64 (2n-1, 3)
    order: ndarray  # int64 (LEAF n,): triangles leaf by leaf, -1 = none
    corners: ndarray  # float64 (m, 3, 3)


def tree(body: Shape) -> Tree:
    """Boxes over the triangles of a shape, sorted along a space-filling (Morton) curve."""
    points = corners(body)
    count = len(points)
    leaves = 1 << max(0, (-(-count // LEAF) - 1).bit_length())
    order = np.full(leaves * LEAF, -1, dtype=np.int64)
    order[:count] = np.argsort(_morton(points.mean(axis=1)), kind="stable")
    low = np.full((len(order), 3), np.inf)
    high = np.full((len(order), 3), -np.inf)
    low[:count], high[:count] = points[order[:count]].min(axis=1), points[order[:count]].max(axis=1)
    return Tree(_heap(low, np.minimum), _heap(high, np.maximum), order, np.ascontiguousarray(points))


def _heap(leaves: ndarray, join: np.ufunc) -> ndarray:
    level = join.reduce(leaves.reshape(-1, LEAF, 3), axis=1)
    levels = [level]
    while len(level) > 1:
        level = join(level[0::2], level[1::2])
        levels.append(level)
    return np.concatenate(levels[::-1])


def _morton(points: ndarray) -> ndarray:
    low, size = points.min(axis=0), np.ptp(points, axis=0).max()
    cells = ((points - low) / (size if size > 0 else 1.0) * 1023).astype(np.int64)
    code = np.zeros(len(points), dtype=np.int64)
    for bit in range(10):
        for axis in range(3):
            code |= ((cells[:, axis] >> bit) & 1) << (3 * bit + axis)
    return code


@njit(cache=True, nogil=True)
def first_hits(boxes: Any, origins: Any, directions: Any, own: Any) -> Any:
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
    stack = np.empty(64, dtype=np.int64)
    inner = len(boxes.low) // 2
    for ray in range(len(origins)):
        origin, direction = origins[ray], directions[ray]
        stack[0], top = 0, 1
        while top:
            top -= 1
            node = stack[top]
            if not _box_hit(boxes.low[node], boxes.high[node], origin, direction, least[ray]):
                continue
            if node < inner:
                stack[top], stack[top + 1] = 2 * node + 1, 2 * node + 2
                top += 2
                continue
            for slot in range((node - inner) * LEAF, (node - inner + 1) * LEAF):
                triangle = boxes.order[slot]
                if triangle >= 0 and triangle != own[ray]:
                    distance = _triangle_hit(boxes.corners[triangle], origin, direction)
                    if distance < least[ray]:
                        least[ray], which[ray] = distance, triangle
    return least, which


@njit(cache=True, nogil=True)
def _box_hit(low: Any, high: Any, origin: Any, direction: Any, limit: float) -> bool:
    near, far = 0.0, limit
    for axis in range(3):
        if abs(direction[axis]) < 1e-300:
            if origin[axis] < low[axis] or origin[axis] > high[axis]:
                return False
        else:
            a = (low[axis] - origin[axis]) / direction[axis]
            b = (high[axis] - origin[axis]) / direction[axis]
            near, far = max(near, min(a, b)), min(far, max(a, b))
    return near <= far


@njit(cache=True, nogil=True)
def _triangle_hit(tri: Any, p: Any, d: Any) -> float:
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


@njit(cache=True, nogil=True)
def nearest(boxes: Any, points: Any) -> Any:
    """Distance from each point (n, 3) to the surface, float64 (n,) [mm]."""
    found = np.empty(len(points))
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
                    x, y, z = nearest_on_triangle(point, boxes.corners[boxes.order[slot]])
                    away = (x - point[0]) ** 2 + (y - point[1]) ** 2 + (z - point[2]) ** 2
                    best = min(best, away)
        found[index] = np.sqrt(best)
    return found


@njit(cache=True, nogil=True)
def _box_distance2(low: Any, high: Any, point: Any) -> float:
    total = 0.0
    for axis in range(3):
        off = max(low[axis] - point[axis], 0.0, point[axis] - high[axis])
        total += off * off
    return total
