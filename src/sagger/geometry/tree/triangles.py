"""Exact distances between points, segments and triangles: the ground under columns and clearance.

Points are three floats, triangles (3, 3) arrays; any one unit of length. Compiled, free of Python's lock.
"""

from __future__ import annotations

import numpy as np

from sagger.compiled import checked

Array = np.ndarray  # float64


@checked
def nearest_on_segment(p: Array, a: Array, b: Array) -> tuple[float, float, float]:
    """Point of the segment from `a` to `b` that lies nearest to `p`."""
    ux, uy, uz = b[0] - a[0], b[1] - a[1], b[2] - a[2]
    span = ux * ux + uy * uy + uz * uz
    t = 0.0
    if span > 0.0:
        t = ((p[0] - a[0]) * ux + (p[1] - a[1]) * uy + (p[2] - a[2]) * uz) / span
        t = min(max(t, 0.0), 1.0)
    return a[0] + t * ux, a[1] + t * uy, a[2] + t * uz


@checked
def nearest_on_triangle(p: Array, tri: Array) -> tuple[float, float, float]:
    """Point of the triangle that lies nearest to `p`.

    Source
    ------
    Projection on the plane, then on the three edges if the foot falls outside. A triangle without area is
    its edges.
    """
    a, b, c = tri[0], tri[1], tri[2]
    ux, uy, uz = b[0] - a[0], b[1] - a[1], b[2] - a[2]
    vx, vy, vz = c[0] - a[0], c[1] - a[1], c[2] - a[2]
    wx, wy, wz = p[0] - a[0], p[1] - a[1], p[2] - a[2]
    uu, uv, vv = ux * ux + uy * uy + uz * uz, ux * vx + uy * vy + uz * vz, vx * vx + vy * vy + vz * vz
    wu, wv = wx * ux + wy * uy + wz * uz, wx * vx + wy * vy + wz * vz
    area = uu * vv - uv * uv
    if area > 1e-12 * uu * vv:
        s, t = (vv * wu - uv * wv) / area, (uu * wv - uv * wu) / area
        if s >= 0.0 and t >= 0.0 and s + t <= 1.0:
            return a[0] + s * ux + t * vx, a[1] + s * uy + t * vy, a[2] + s * uz + t * vz
    best = 1e300
    x, y, z = a[0], a[1], a[2]
    for k in range(3):
        qx, qy, qz = nearest_on_segment(p, tri[k], tri[(k + 1) % 3])
        far = (qx - p[0]) ** 2 + (qy - p[1]) ** 2 + (qz - p[2]) ** 2
        if far < best:
            best, x, y, z = far, qx, qy, qz
    return x, y, z


@checked
def segments_apart2(a: Array, b: Array, c: Array, d: Array) -> float:
    """Square of the distance between the segments a-b and c-d.

    Source
    ------
    The convex quadratic in the two parameters: its free minimum if that lies inside, else the least of the
    four ends against the other segment.
    """
    ux, uy, uz = b[0] - a[0], b[1] - a[1], b[2] - a[2]
    vx, vy, vz = d[0] - c[0], d[1] - c[1], d[2] - c[2]
    wx, wy, wz = a[0] - c[0], a[1] - c[1], a[2] - c[2]
    uu, uv, vv = ux * ux + uy * uy + uz * uz, ux * vx + uy * vy + uz * vz, vx * vx + vy * vy + vz * vz
    uw, vw = ux * wx + uy * wy + uz * wz, vx * wx + vy * wy + vz * wz
    det = uu * vv - uv * uv
    if det > 1e-12 * uu * vv:
        s, t = (uv * vw - vv * uw) / det, (uu * vw - uv * uw) / det
        if 0.0 <= s <= 1.0 and 0.0 <= t <= 1.0:
            x, y, z = wx + s * ux - t * vx, wy + s * uy - t * vy, wz + s * uz - t * vz
            return float(x * x + y * y + z * z)
    best = 1e300
    for p, e, f in ((a, c, d), (b, c, d), (c, a, b), (d, a, b)):
        qx, qy, qz = nearest_on_segment(p, e, f)
        best = min(best, (qx - p[0]) ** 2 + (qy - p[1]) ** 2 + (qz - p[2]) ** 2)
    return best


@checked
def pierces(a: Array, b: Array, tri: Array) -> bool:
    """True if the segment a-b passes through the triangle's inside."""
    px, py, pz = tri[0, 0], tri[0, 1], tri[0, 2]
    ux, uy, uz = tri[1, 0] - px, tri[1, 1] - py, tri[1, 2] - pz
    vx, vy, vz = tri[2, 0] - px, tri[2, 1] - py, tri[2, 2] - pz
    nx, ny, nz = uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx
    da = nx * (a[0] - px) + ny * (a[1] - py) + nz * (a[2] - pz)
    db = nx * (b[0] - px) + ny * (b[1] - py) + nz * (b[2] - pz)
    if da * db >= 0.0:
        return False  # touching and coplanar cases are found by the edge distances
    t = da / (da - db)
    wx, wy, wz = a[0] + t * (b[0] - a[0]) - px, a[1] + t * (b[1] - a[1]) - py, a[2] + t * (b[2] - a[2]) - pz
    uu, uv, vv = ux * ux + uy * uy + uz * uz, ux * vx + uy * vy + uz * vz, vx * vx + vy * vy + vz * vz
    wu, wv = wx * ux + wy * uy + wz * uz, wx * vx + wy * vy + wz * vz
    det = uu * vv - uv * uv
    if det <= 0.0:
        return False
    s, r = (vv * wu - uv * wv) / det, (uu * wv - uv * wu) / det
    return bool(s >= 0.0 and r >= 0.0 and s + r <= 1.0)


@checked
def triangles_apart2(one: Array, two: Array) -> float:
    """Square of the distance between two triangles, 0 if they meet.

    Source
    ------
    Two triangles that do not meet are nearest at a vertex of one and a point of the other, or at two edges.
    """
    for k in range(3):
        if pierces(one[k], one[(k + 1) % 3], two) or pierces(two[k], two[(k + 1) % 3], one):
            return 0.0
    best = 1e300
    for k in range(3):
        for m in range(3):
            best = min(best, segments_apart2(one[k], one[(k + 1) % 3], two[m], two[(m + 1) % 3]))
    for k in range(3):
        x, y, z = nearest_on_triangle(one[k], two)
        best = min(best, (x - one[k, 0]) ** 2 + (y - one[k, 1]) ** 2 + (z - one[k, 2]) ** 2)
        x, y, z = nearest_on_triangle(two[k], one)
        best = min(best, (x - two[k, 0]) ** 2 + (y - two[k, 1]) ** 2 + (z - two[k, 2]) ** 2)
    return best
