"""Faces of many corners as triangles that cover just what the face covers."""

from __future__ import annotations

import numpy as np
from numpy import ndarray


def triangles(vertices: ndarray, corners: ndarray, counts: ndarray) -> ndarray:
    """Triangles int64 (m, 3) of faces.

    Parameters
    ----------
    vertices : ndarray
        float64 (n, 3).
    corners, counts : ndarray
        int64, numbers of vertices face after face; how many corners each face has, 3 or more.
    """
    ends = np.cumsum(counts)
    starts = ends - counts
    made = [corners[starts[counts == 3, None] + np.arange(3)]]
    for start, count in zip(starts[counts > 3], counts[counts > 3], strict=True):
        face = corners[start : start + count]
        made.append(face[_cut(vertices[face])])
    return np.concatenate(made)


def _cut(points: ndarray) -> ndarray:
    """A flat face, convex or not, cut into triangles: int64 (count - 2, 3), places in the face.

    Ears are cut off one by one (Meisters 1975, "Polygons have ears"). A fan would cover notches too.
    """
    flat = _flattened(points)
    left, made = list(range(len(points))), []
    while len(left) > 3:
        ear = next((at for at in range(len(left)) if _is_ear(flat, left, at)), 0)
        made.append((left[ear - 1], left[ear], left[(ear + 1) % len(left)]))
        del left[ear]
    return np.array([*made, tuple(left)], np.int64)


def _flattened(points: ndarray) -> ndarray:
    """Points in the plane that fits them, turning counterclockwise, float64 (n, 2)."""
    # Newell's normal holds for faces that are not quite flat (Sutherland, Sproull and Schumacker 1974).
    with np.errstate(over="ignore", invalid="ignore"):  # numbers past all sense are refused afterwards
        near = points - points[0]
        normal = np.cross(near, np.roll(near, -1, axis=0)).sum(axis=0)
    away = int(np.argmax(np.abs(normal)))
    one, other = ((1, 2), (2, 0), (0, 1))[away]
    flat = points[:, [one, other]]
    return flat if normal[away] >= 0 else flat * (-1, 1)


def _is_ear(flat: ndarray, left: list[int], at: int) -> bool:
    """Whether a corner sticks out and no other corner lies in what it would cut off."""
    before, here, after = left[at - 1], left[at], left[(at + 1) % len(left)]
    a, b, c = flat[before], flat[here], flat[after]
    if _turn(a, b, c) <= 0:
        return False
    others = flat[[each for each in left if each not in (before, here, after)]]
    inside = (_turn(a, b, others) >= 0) & (_turn(b, c, others) >= 0) & (_turn(c, a, others) >= 0)
    return not inside.any()


def _turn(a: ndarray, b: ndarray, c: ndarray) -> ndarray:
    """Above 0 where c lies left of the way from a to b."""
    with np.errstate(over="ignore", invalid="ignore"):
        turn: ndarray = (b[0] - a[0]) * (c[..., 1] - a[1]) - (b[1] - a[1]) * (c[..., 0] - a[0])
    return turn
