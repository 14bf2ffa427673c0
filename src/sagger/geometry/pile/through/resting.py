"""Exact heights for a layout from the lattice: every shape comes down until it rests, free of the steps of z.

Two shapes whose columns meet keep the stretch of free heights in which one lies beside the other, so nothing
changes but the roundings. Heights are mm.
"""

from __future__ import annotations

import numpy as np
from numpy import ndarray

from sagger.compiled import checked
from sagger.geometry.pile.through.crowd import Crowd
from sagger.geometry.pile.through.stretches import Stretches
from sagger.geometry.pile.through.tables import FINE, Shapes

_FAR = 1e12
_TRUE = 1e-5  # [mm] by which lattice and stretches may differ


def rested(shapes: Shapes, c: Crowd, free: ndarray) -> ndarray:
    """Height of each shape when all come down as far as those under them allow, float64 (n,) [mm].

    Parameters
    ----------
    shapes : Shapes
        What the crowd's tables were made of.
    c : Crowd
        Free of overlap.
    free : ndarray
        bool (n,): shapes that may come down.

    Source
    ------
    Least solution of differences bounded from below: longest paths by sweeps (Bellman, Ford).
    """
    count = len(c.pose)
    least = np.full((count, count), -_FAR)  # [i, j]: z of i is at least that of j and this
    high = c.at[:, 2] * shapes.lattice.rise
    for i in range(count):
        for j in range(count):
            if c.pose[i] > c.pose[j] or (c.pose[i] == c.pose[j] and i > j):
                moved, lying = shapes.solid[c.pose[i]], shapes.grown[c.pose[j]]
                dy, dx = (int(off) * FINE + shapes.pad for off in c.at[i, :2] - c.at[j, :2])
                below, above = _bounds(moved, lying, dy, dx, high[i] - high[j])
                least[i, j], least[j, i] = below, -above
    return np.asarray(_least(least, high, free))


@checked
def _bounds(moved: Stretches, lying: Stretches, dy: int, dx: int, dz: float) -> tuple[float, float]:
    """Between which heights above the lying shape the moved one is free, from where it lies now."""
    below, above = -_FAR, _FAR
    for j in range(max(0, -dy), min(moved.ny, lying.ny - dy)):
        for i in range(max(0, -dx), min(moved.nx, lying.nx - dx)):
            a, b = j * moved.nx + i, (j + dy) * lying.nx + i + dx
            for p in range(moved.first[a], moved.first[a + 1]):
                for q in range(lying.first[b], lying.first[b + 1]):
                    low, high = lying.low[q] - moved.high[p], lying.high[q] - moved.low[p]
                    if high <= dz + _TRUE:
                        below = max(below, high)
                    else:
                        above = min(above, low)
    return below, above


@checked
def _least(least: ndarray, high: ndarray, free: ndarray) -> ndarray:
    """Smallest heights that keep all bounds; where roundings leave none, those that were given."""
    count = high.shape[0]
    z = np.zeros(count)
    for i in range(count):
        if not free[i]:
            z[i] = high[i]
    for _ in range(count + 1):
        changed = False
        for i in range(count):
            low = z[i]
            for j in range(count):
                low = max(low, z[j] + least[i, j])
            if low > z[i] + 1e-9:
                if not free[i] or low > high[i] + _TRUE:
                    return high
                z[i], changed = low, True
        if not changed:
            return z
    return high
