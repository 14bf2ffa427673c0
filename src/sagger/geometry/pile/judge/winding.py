"""How often a closed surface goes round a point: by that a point is inside or outside, whatever the mesh."""

from __future__ import annotations

from math import atan2, pi, sqrt

import numpy as np
from numpy import ndarray

from sagger.compiled import checked


def windings(triangles: np.ndarray, points: np.ndarray) -> np.ndarray:
    """Winding number of a surface about each point, float64 (n,) [-].

    Parameters
    ----------
    triangles : ndarray
        float64 (m, 3, 3), any one unit of length.
    points : ndarray
        float64 (n, 3), not on the surface.

    Returns
    -------
    ndarray
        Whole numbers for a closed surface: 1 inside, 0 outside, -1 inside one that is turned inside out.
        Cracks and holes shift it by the solid angle they leave open.

    Source
    ------
    Sum of signed solid angles over 4 pi: Van Oosterom, Strackee, IEEE Trans. Biomed. Eng. 30 (1983) 125.
    """
    out = np.empty(len(points))
    _each(np.ascontiguousarray(triangles), np.ascontiguousarray(points), out)
    return out


@checked
def _each(triangles: ndarray, points: ndarray, out: ndarray) -> None:
    for n in range(points.shape[0]):
        out[n] = winding(triangles, points[n])


@checked
def winding(triangles: ndarray, p: ndarray) -> float:
    """The same about one point."""
    total = 0.0
    for n in range(triangles.shape[0]):
        ax, ay, az = triangles[n, 0, 0] - p[0], triangles[n, 0, 1] - p[1], triangles[n, 0, 2] - p[2]
        bx, by, bz = triangles[n, 1, 0] - p[0], triangles[n, 1, 1] - p[1], triangles[n, 1, 2] - p[2]
        cx, cy, cz = triangles[n, 2, 0] - p[0], triangles[n, 2, 1] - p[1], triangles[n, 2, 2] - p[2]
        a, b = sqrt(ax * ax + ay * ay + az * az), sqrt(bx * bx + by * by + bz * bz)
        c = sqrt(cx * cx + cy * cy + cz * cz)
        det = ax * (by * cz - bz * cy) + ay * (bz * cx - bx * cz) + az * (bx * cy - by * cx)
        ab, bc, ca = ax * bx + ay * by + az * bz, bx * cx + by * cy + bz * cz, cx * ax + cy * ay + cz * az
        total += 2.0 * atan2(det, a * b * c + ab * c + bc * a + ca * b)
    return total / (4.0 * pi)
