"""A shape seen along z over square columns: where it begins, where it ends, and how far its gap reaches.

Heights are int32 micrometres, rounded away from the shape, so that whatever is built on them keeps its
distance for certain. Column (0, 0) starts at the shape's lower corner; arrays are [y, x].
"""

from __future__ import annotations

from math import ceil, floor, sqrt
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.compiled import checked
from sagger.geometry.tree.triangles import nearest_on_triangle

NOTHING = 500_000_000  # [um] no shape over this column: +NOTHING in `under`, -NOTHING in `over` and `reach`
_SKIN = 1e-7  # [mm] columns are narrower by this on each side, so that flush faces do not claim the next


class Columns(NamedTuple):
    """Heights of one shape over columns `pitch` wide [um]."""

    under: np.ndarray  # int32 (ny, nx): lowest point
    over: np.ndarray  # int32 (ny, nx): highest point
    reach: np.ndarray  # int32 (ny + 2 pad, nx + 2 pad): above it every point is at least the gap away
    pad: int  # columns that `reach` goes beyond the shape on each side


def columns(triangles: np.ndarray, pitch_mm: float, gap_mm: float) -> Columns:
    """Heights of a shape over square columns.

    Parameters
    ----------
    triangles : ndarray
        float64 (m, 3, 3), lower corner of all at the origin [mm].
    pitch_mm : float
        Side of a column.
    gap_mm : float
        Distance that must stay free of other shapes.

    Returns
    -------
    Columns
        A point above `reach` of its column is at least `gap_mm` away from every triangle, to within the
        skin of 1e-7 mm. The surface alone is looked at: nothing is assumed about its being closed.
    """
    wide, deep = (max(1, ceil(extent / pitch_mm - 1e-6)) for extent in triangles.max(axis=(0, 1))[:2])
    pad = ceil(gap_mm / pitch_mm - 1e-6)
    under = np.full((deep, wide), NOTHING, dtype=np.int32)
    over = np.full((deep, wide), -NOTHING, dtype=np.int32)
    _spans(triangles, pitch_mm, under, over)
    reach = np.full((deep + 2 * pad, wide + 2 * pad), -NOTHING, dtype=np.int32)
    reach[pad : pad + deep, pad : pad + wide] = over
    if gap_mm > 0.0:
        highest_first = np.argsort(-triangles[:, :, 2].max(axis=1), kind="stable")
        _reaches(triangles[highest_first], pitch_mm, gap_mm, pad, reach)
    return Columns(under, over, reach, pad)


@checked
def _cut(points: ndarray, count: int, axis: int, at: float, keep_above: bool, out: ndarray) -> int:
    """Clip a polygon (count, 3) by the plane `axis` = `at`; how many corners are left in `out`."""
    sign = 1.0 if keep_above else -1.0
    corners = 0
    for k in range(count):
        a, b = points[k], points[(k + 1) % count]
        da, db = sign * (a[axis] - at), sign * (b[axis] - at)
        if da >= 0.0:
            out[corners] = a
            corners += 1
        if (da > 0.0 and db < 0.0) or (da < 0.0 and db > 0.0):
            t = da / (da - db)
            for m in range(3):
                out[corners, m] = a[m] + t * (b[m] - a[m])
            corners += 1
    return corners


@checked
def _spans(triangles: ndarray, pitch: float, under: ndarray, over: ndarray) -> None:
    """Lowest and highest point of each triangle inside each column, by clipping."""
    deep, wide = under.shape
    one, two, row = np.empty((8, 3)), np.empty((8, 3)), np.empty((8, 3))
    for n in range(triangles.shape[0]):
        tri = triangles[n]
        top = max(0, floor(tri[:, 1].min() / pitch))
        for j in range(top, min(deep, floor(tri[:, 1].max() / pitch) + 1)):
            count = _cut(tri, 3, 1, j * pitch + _SKIN, True, one)
            rows = _cut(one, count, 1, (j + 1) * pitch - _SKIN, False, row)
            if rows == 0:
                continue
            left = max(0, floor(row[:rows, 0].min() / pitch))
            for i in range(left, min(wide, floor(row[:rows, 0].max() / pitch) + 1)):
                count = _cut(row, rows, 0, i * pitch + _SKIN, True, one)
                count = _cut(one, count, 0, (i + 1) * pitch - _SKIN, False, two)
                if count > 0:
                    under[j, i] = min(under[j, i], floor(two[:count, 2].min() * 1e3))
                    over[j, i] = max(over[j, i], ceil(two[:count, 2].max() * 1e3))


@checked
def _normal(tri: ndarray) -> ndarray:
    """Unit normal of a triangle, zero if it has no area."""
    u, v = tri[1] - tri[0], tri[2] - tri[0]
    n = np.array((u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]))
    size = sqrt((n * n).sum())
    return n / size if size > 1e-30 else n * 0.0


@checked
def _bound(tri: ndarray, gap: float, column: ndarray, nx: float, ny: float, nz: float) -> float:
    """Height above which the column is certainly `gap` away, from the slab with upward normal n."""
    far = -1e300
    for k in range(3):
        far = max(far, nx * tri[k, 0] + ny * tri[k, 1] + nz * tri[k, 2])
    low = min(nx * column[0], nx * column[1]) + min(ny * column[2], ny * column[3])
    return float((far + gap - low) / nz)


@checked
def _clear(tri: ndarray, gap: float, column: ndarray, p: ndarray) -> bool:
    """True if the whole upright column is certainly at least `gap` away from the triangle."""
    for _ in range(8):
        qx, qy, qz = nearest_on_triangle(p, tri)
        p[0], p[1], p[2] = (
            min(max(qx, column[0]), column[1]),
            min(max(qy, column[2]), column[3]),
            qz,
        )
        nx, ny = p[0] - qx, p[1] - qy
        far = sqrt(nx * nx + ny * ny)
        if far < gap:
            return False
        nx, ny = nx / far, ny / far
        most = max(nx * tri[0, 0] + ny * tri[0, 1], nx * tri[1, 0] + ny * tri[1, 1])
        most = max(most, nx * tri[2, 0] + ny * tri[2, 1])
        if min(nx * column[0], nx * column[1]) + min(ny * column[2], ny * column[3]) - most >= gap:
            return True
    return False


@checked
def _lowered(tri: ndarray, gap: float, column: ndarray, z: float, enough: float, p: ndarray) -> float:
    """Bring the bound `z` down, by tangents, to where column and triangle are `gap` apart.

    The distance from the flat square at height z is convex in z, so each tangent gives a certain bound;
    stops below `enough` or when a step gains less than a fifth of a micrometre.
    """
    for _ in range(12):
        for _again in range(3):
            p[2] = z
            qx, qy, qz = nearest_on_triangle(p, tri)
            p[0], p[1] = min(max(qx, column[0]), column[1]), min(max(qy, column[2]), column[3])
        nx, ny, nz = p[0] - qx, p[1] - qy, z - qz
        size = sqrt(nx * nx + ny * ny + nz * nz)
        if size < 1e-9 or nz < 1e-6 * size:
            break
        lower = _bound(tri, gap, column, nx / size, ny / size, nz / size)
        gain = z - lower
        z = min(z, lower)
        if gain < 2e-4 or z <= enough:
            break
    return z


@checked
def _reaches(triangles: ndarray, pitch: float, gap: float, pad: int, reach: ndarray) -> None:
    """Raise `reach` to the top of the band of width `gap` around each triangle; highest triangles first."""
    deep, wide = reach.shape
    column, p = np.empty(4), np.empty(3)
    for n in range(triangles.shape[0]):
        tri = triangles[n]
        x0, x1, y0, y1 = tri[:, 0].min(), tri[:, 0].max(), tri[:, 1].min(), tri[:, 1].max()
        top, normal = tri[:, 2].max(), _normal(tri)
        if normal[2] < 0.0:
            normal = -normal
        left, right = max(0, floor((x0 - gap) / pitch) + pad), floor((x1 + gap) / pitch) + pad + 1
        for j in range(
            max(0, floor((y0 - gap) / pitch) + pad), min(deep, floor((y1 + gap) / pitch) + pad + 1)
        ):
            column[2], column[3] = (j - pad) * pitch + _SKIN, (j - pad + 1) * pitch - _SKIN
            dy = max(0.0, column[2] - y1, y0 - column[3])
            for i in range(left, min(wide, right)):
                column[0], column[1] = (i - pad) * pitch + _SKIN, (i - pad + 1) * pitch - _SKIN
                dx = max(0.0, column[0] - x1, x0 - column[1])
                room = gap * gap - dx * dx - dy * dy
                enough = reach[j, i] * 1e-3
                if room <= 0.0 or top + sqrt(room) <= enough:
                    continue
                z = top + sqrt(room)
                if normal[2] > 1e-3:
                    z = min(z, _bound(tri, gap, column, normal[0], normal[1], normal[2]))
                if z <= enough:
                    continue
                p[0], p[1], p[2] = 0.5 * (column[0] + column[1]), 0.5 * (column[2] + column[3]), top
                if not _clear(tri, gap, column, p):
                    z = _lowered(tri, gap, column, z, enough, p)
                    reach[j, i] = max(reach[j, i], ceil(z * 1e3))
