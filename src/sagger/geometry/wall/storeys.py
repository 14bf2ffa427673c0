"""What stands above each place of a setter: stretches of material along upright lines [mm].

The setter is the plane at the shape's lowest point. Lines go through the middle of square cells; they are
shifted by a hair so that they do not run along edges of drawn parts.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.compiled import checked
from sagger.geometry.surface import mesh
from sagger.goods.shape import Shape

HAIR = (1.7e-4, 2.3e-4)  # of a cell
ACROSS = 180  # cells along the longer side
LEAST_MM = 0.05  # narrowest cell


class Storeys(NamedTuple):
    """Stretches of material, column by column, lowest first within one."""

    first: ndarray  # int64 (ny * nx + 1,): where each column's stretches begin; column = j * nx + i
    bottom: ndarray  # float64 (s,) above the setter [mm]
    top: ndarray  # float64 (s,) [mm]
    nx: int
    ny: int
    pitch_mm: float
    low_mm: ndarray  # float64 (3,): lower corner of the shape, in its own axes


def storeys(body: Shape, across: int = ACROSS) -> Storeys:
    """Stretches of material above the setter on a grid of `across` cells along the longer side.

    Overlapping bodies count once. Where a surface is broken and a line does not come out again, nothing is
    taken to stand from there on.
    """
    corners = mesh.corners(body)
    low = corners.min(axis=(0, 1))
    points = np.ascontiguousarray(corners - low)
    wide, deep = (float(side) for side in points.max(axis=(0, 1))[:2])
    pitch = max(max(wide, deep) / across, LEAST_MM)
    nx, ny = max(1, int(np.ceil(wide / pitch - 1e-9))), max(1, int(np.ceil(deep / pitch - 1e-9)))
    counts = np.zeros(nx * ny + 1, dtype=np.int64)
    _hits(points, (pitch, nx, ny), counts, np.empty(0), np.empty(0, dtype=np.int8))
    starts = np.concatenate(([0], np.cumsum(counts[:-1])))
    heights, ways = np.empty(starts[-1]), np.empty(starts[-1], dtype=np.int8)
    _hits(points, (pitch, nx, ny), starts[:-1].copy(), heights, ways)
    counts, bottom, top = _joined(starts, heights, ways)
    return Storeys(np.concatenate(([0], np.cumsum(counts))), bottom, top, nx, ny, pitch, low)


@checked
def _hits(
    points: ndarray, grid: tuple[float, int, int], at: ndarray, heights: ndarray, ways: ndarray
) -> None:
    """Write height and way (1 in, -1 out) of the triangles a line goes through; only count without room."""
    pitch, nx, ny = grid
    only_count = heights.size == 0
    for triangle in range(points.shape[0]):
        ax, ay, az = points[triangle, 0]
        bx, by, bz = points[triangle, 1]
        cx, cy, cz = points[triangle, 2]
        area = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay)
        if area == 0.0:
            continue
        i0 = max(0, int(np.floor(min(ax, bx, cx) / pitch - 0.5)))
        i1 = min(nx - 1, int(np.ceil(max(ax, bx, cx) / pitch - 0.5)))
        j0 = max(0, int(np.floor(min(ay, by, cy) / pitch - 0.5)))
        j1 = min(ny - 1, int(np.ceil(max(ay, by, cy) / pitch - 0.5)))
        for j in range(j0, j1 + 1):
            y = (j + 0.5 + HAIR[1]) * pitch
            for i in range(i0, i1 + 1):
                x = (i + 0.5 + HAIR[0]) * pitch
                u = ((bx - x) * (cy - y) - (cx - x) * (by - y)) / area
                v = ((cx - x) * (ay - y) - (ax - x) * (cy - y)) / area
                if u < 0 or v < 0 or u + v > 1:
                    continue
                column = j * nx + i
                if not only_count:
                    heights[at[column]] = u * az + v * bz + (1 - u - v) * cz
                    ways[at[column]] = -1 if area > 0 else 1
                at[column] += 1


@checked
def _joined(starts: ndarray, heights: ndarray, ways: ndarray) -> tuple[ndarray, ndarray, ndarray]:
    """Sort each column's hits and join them to stretches: inside wherever more went in than out."""
    joined = np.zeros(starts.size - 1, dtype=np.int64)
    bottom, top = np.empty(heights.size), np.empty(heights.size)
    count = 0
    for column in range(starts.size - 1):
        a, b = starts[column], starts[column + 1]
        order = np.argsort(heights[a:b], kind="mergesort")
        depth, began = 0, 0.0
        for place in order:
            before, depth = depth, depth + ways[a + place]
            height = heights[a + place]
            if before <= 0 < depth:
                began = height
            elif before > 0 >= depth and height > began:
                if joined[column] and began <= top[count - 1]:
                    top[count - 1] = height
                else:
                    bottom[count], top[count] = began, height
                    joined[column] += 1
                    count += 1
    return joined, bottom[:count].copy(), top[:count].copy()
