"""What the stiffness of a brick is to the brick of the next coarser level in whose corner it lies.

Displacements run linearly between the nodes of the coarser brick: along each axis in turn, one node of the
brick is a node of the coarser one and the other lies half-way between two. Matrices are float32 (576,), rows
by component and node as in `element`.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from sagger.physics.solid.kernel import inlined, kernel

# by half in which the brick lies: shares of its lower and upper node in the lower, then the upper coarse one
SHARES = np.array([[1.0, 0.5, 0.0, 0.5], [0.5, 0.0, 0.5, 1.0]], np.float32)


@kernel
def room() -> Any:
    return np.empty(576, np.float32), np.empty(576, np.float32)


@kernel
def coarsened(octant: int, rooms: Any, out: Any) -> None:
    """Add to `out` what the symmetric matrix in the first of the rooms is there; the rooms are used up."""
    one, two = rooms
    _rows(octant, one)
    for r in range(24):
        for c in range(24):
            two[24 * c + r] = one[24 * r + c]
    _rows(octant, two)
    for r in range(576):
        out[r] += two[r]


@kernel
def _rows(octant: int, k: Any) -> None:
    along_x, along_y, along_z = SHARES[octant >> 2 & 1], SHARES[octant >> 1 & 1], SHARES[octant & 1]
    for i in range(3):
        _mixed(along_x, k, 192 * i, 96)
        for half in range(2):
            _mixed(along_y, k, 192 * i + 96 * half, 48)
        for quarter in range(4):
            _mixed(along_z, k, 192 * i + 48 * quarter, 24)


@inlined
def _mixed(share: Any, k: Any, low: int, width: int) -> None:
    a, b, c, d = share[0], share[1], share[2], share[3]
    for t in range(width):
        one, two = k[low + t], k[low + width + t]
        k[low + t], k[low + width + t] = a * one + b * two, c * one + d * two
