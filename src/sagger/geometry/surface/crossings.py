"""Where a surface runs through itself."""

from __future__ import annotations

import numpy as np
from numpy import ndarray

from sagger.compiled import checked
from sagger.geometry.tree.bvh import LEAF, TriangleTree, tree
from sagger.goods.shape import Shape

MOST = 100_000  # pairs listed; a surface with more is broken beyond counting


def crossings(body: Shape) -> ndarray:
    """Pairs of triangles that run through each other, int64 (p, 2), at most `MOST`.

    Triangles that share a vertex, and those that only touch or lie in one plane, do not count.
    """
    if not len(body.triangles):
        return np.empty((0, 2), dtype=np.int64)
    boxes = tree(body)
    pairs = np.empty((MOST, 2), dtype=np.int64)
    points = np.array(body.vertices[body.triangles])
    count = _crossing_pairs(boxes, points, body.triangles, pairs)
    return np.asarray(pairs[:count].copy())


@checked
def _crossing_pairs(boxes: TriangleTree, points: ndarray, triangles: ndarray, pairs: ndarray) -> int:
    count, inner = 0, len(boxes.low) // 2
    stack = np.empty(64, dtype=np.int64)
    for a in range(len(triangles)):
        own = points[a]
        stack[0], top = 0, 1
        while top:
            top -= 1
            node = stack[top]
            if _apart(own, boxes.low[node], boxes.high[node]):
                continue
            if node < inner:
                stack[top], stack[top + 1] = 2 * node + 1, 2 * node + 2
                top += 2
                continue
            for slot in range((node - inner) * LEAF, (node - inner + 1) * LEAF):
                b = boxes.order[slot]
                if b <= a or _share_vertex(triangles[a], triangles[b]):
                    continue
                if _cross(own, boxes.corners[slot]):
                    pairs[count, 0], pairs[count, 1] = a, b
                    count += 1
                    if count == len(pairs):
                        return count
    return count


@checked
def _apart(points: ndarray, low: ndarray, high: ndarray) -> bool:
    for axis in range(3):
        if max(points[0, axis], points[1, axis], points[2, axis]) < low[axis]:
            return True
        if min(points[0, axis], points[1, axis], points[2, axis]) > high[axis]:
            return True
    return False


@checked
def _share_vertex(one: ndarray, other: ndarray) -> bool:
    for i in range(3):
        for j in range(3):
            if one[i] == other[j]:
                return True
    return False


@checked
def _cross(one: ndarray, other: ndarray) -> bool:
    for side in range(3):
        if _pierces(one[side], one[(side + 1) % 3], other):
            return True
        if _pierces(other[side], other[(side + 1) % 3], one):
            return True
    return False


@checked
def _pierces(start: ndarray, end: ndarray, points: ndarray) -> bool:
    """True if the segment passes through the inside of the triangle, by signs of volumes."""
    a, b, c = points[0], points[1], points[2]
    size = 0.0
    for axis in range(3):
        size = max(size, abs(a[axis] - c[axis]), abs(b[axis] - c[axis]), abs(start[axis] - end[axis]))
    slack = 1e-9 * size * size * size
    above, below = _volume6(a, b, c, start), _volume6(a, b, c, end)
    if not ((above > slack and below < -slack) or (above < -slack and below > slack)):
        return False
    u, v, w = _volume6(start, end, a, b), _volume6(start, end, b, c), _volume6(start, end, c, a)
    return (u > slack and v > slack and w > slack) or (u < -slack and v < -slack and w < -slack)


@checked
def _volume6(a: ndarray, b: ndarray, c: ndarray, d: ndarray) -> float:
    """Six times the volume of a tetrahedron."""
    x1, y1, z1 = a[0] - d[0], a[1] - d[1], a[2] - d[2]
    x2, y2, z2 = b[0] - d[0], b[1] - d[1], b[2] - d[2]
    x3, y3, z3 = c[0] - d[0], c[1] - d[1], c[2] - d[2]
    return float(x1 * (y2 * z3 - z2 * y3) - y1 * (x2 * z3 - z2 * x3) + z1 * (x2 * y3 - y2 * x3))
