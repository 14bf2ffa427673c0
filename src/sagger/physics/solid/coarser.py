"""What the stiffness of a brick is to the brick of the next coarser level in whose corner it lies.

Displacements run linearly between the nodes of the coarser brick: along each axis in turn, one node of the
brick is a node of the coarser one and the other lies half-way between two. Matrices are float32 (576,), rows
by component and node as in `element`.
"""

from __future__ import annotations

import numpy as np
from numpy import ndarray

from sagger.compiled import fast, fast_inner
from sagger.physics.solid.strip import column

# by half in which the brick lies: shares of its lower and upper node in the lower, then the upper coarse one
SHARES = np.array([[1.0, 0.5, 0.0, 0.5], [0.5, 0.0, 0.5, 1.0]], np.float32)


@fast
def room() -> tuple[ndarray, ndarray]:
    return np.empty(576, np.float32), np.empty(576, np.float32)


@fast
def coarsened(octant: int, rooms: tuple[ndarray, ndarray], out: ndarray) -> None:
    """Add to `out` what the symmetric matrix in the first of the rooms is there; the rooms are used up."""
    one, two = rooms
    _rows(octant, one)
    for r in range(24):
        for c in range(24):
            two[24 * c + r] = one[24 * r + c]
    _rows(octant, two)
    for r in range(576):
        out[r] += two[r]


@fast
def _rows(octant: int, k: ndarray) -> None:
    x, y, z = SHARES[octant >> 2 & 1], SHARES[octant >> 1 & 1], SHARES[octant & 1]
    along_x, along_y = (x[0], x[1], x[2], x[3]), (y[0], y[1], y[2], y[3])
    along_z = z[0], z[1], z[2], z[3]
    for i in range(3):
        for c in range(24):
            r = 192 * i + c
            n0, n1, n2, n3, n4, n5, n6, n7 = column(k, r)
            (n0, n4), (n1, n5) = _mixed(along_x, n0, n4), _mixed(along_x, n1, n5)
            (n2, n6), (n3, n7) = _mixed(along_x, n2, n6), _mixed(along_x, n3, n7)
            (n0, n2), (n1, n3) = _mixed(along_y, n0, n2), _mixed(along_y, n1, n3)
            (n4, n6), (n5, n7) = _mixed(along_y, n4, n6), _mixed(along_y, n5, n7)
            (k[r], k[r + 24]), (k[r + 48], k[r + 72]) = _mixed(along_z, n0, n1), _mixed(along_z, n2, n3)
            (k[r + 96], k[r + 120]), (k[r + 144], k[r + 168]) = (
                _mixed(along_z, n4, n5),
                _mixed(along_z, n6, n7),
            )


@fast_inner
def _mixed(share: tuple[float, ...], low: float, high: float) -> tuple[float, float]:
    return share[0] * low + share[1] * high, share[2] * low + share[3] * high
