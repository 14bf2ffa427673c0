"""How a part may lie in the box."""

from __future__ import annotations

from itertools import permutations, product

import numpy as np
from numpy import ndarray

from sagger.errors import StopError


def turns(orientations: str) -> ndarray:
    """Allowed orientations as rotations, float64 (t, 3, 3), the identity first.

    Parameters
    ----------
    orientations : str
        "fixed" (as filed), "upright" (four quarter turns about z) or "free" (the 24 turns of a cube).
    """
    cube = _cube()
    if orientations == "free":
        return cube
    if orientations == "upright":
        return cube[cube[:, 2, 2] > 0]
    if orientations == "fixed":
        return cube[:1]
    raise StopError(f"no orientations are called {orientations!r}; known: fixed, upright, free")


def _cube() -> ndarray:
    """The 24 rotations that map a cube onto itself, the identity first."""
    cube = []
    for order in permutations(range(3)):
        for signs in product((1.0, -1.0), repeat=3):
            turn = np.zeros((3, 3))
            turn[range(3), order] = signs
            if np.linalg.det(turn) > 0:
                cube.append(turn)
    return np.array(cube)


def rotation(angles_deg: tuple[float, float, float]) -> ndarray:
    """Rotation by angles about x, then y, then z, float64 (3, 3); quarter turns are exact."""
    turn = np.eye(3)
    for axis, angle in enumerate(angles_deg):
        cos, sin = np.cos(np.radians(angle)), np.sin(np.radians(angle))
        if angle % 90 == 0:
            cos, sin = np.round(cos), np.round(sin)
        step, (a, b) = np.eye(3), ((1, 2), (2, 0), (0, 1))[axis]
        step[a, a], step[a, b], step[b, a], step[b, b] = cos, -sin, sin, cos
        turn = step @ turn
    return turn
