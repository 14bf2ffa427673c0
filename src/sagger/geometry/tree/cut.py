"""A flat polygon cut by a plane across an axis."""

from __future__ import annotations

from numpy import ndarray

from sagger.compiled import checked


@checked
def cut(points: ndarray, count: int, axis: int, at: float, keep_above: bool, out: ndarray) -> int:
    """Clip a polygon (count, 3) by the plane `axis` = `at`; how many corners are left in `out`."""
    sign = 1.0 if keep_above else -1.0
    left = 0
    for k in range(count):
        a, b = points[k], points[(k + 1) % count]
        da, db = sign * (a[axis] - at), sign * (b[axis] - at)
        if da >= 0.0:
            out[left] = a
            left += 1
        if (da > 0.0 and db < 0.0) or (da < 0.0 and db > 0.0):
            t = da / (da - db)
            for m in range(3):
                out[left, m] = a[m] + t * (b[m] - a[m])
            left += 1
    return left
