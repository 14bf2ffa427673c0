"""Closed surfaces of shapes with square corners [mm]."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy import ndarray

from sagger.geometry.surface import mesh
from sagger.goods.shape import Shape

SIDES = np.array([(0, 2, 3, 1), (4, 5, 7, 6), (0, 1, 5, 4), (2, 6, 7, 3), (0, 4, 6, 2), (1, 3, 7, 5)])
TOWARDS = ((0, 0, -1), (0, 0, 1), (0, -1, 0), (0, 1, 0), (-1, 0, 0), (1, 0, 0))


def block(x: float, y: float, z: float) -> Shape:
    """A box with one corner at the origin."""
    return prism((0.0, x), (0.0, z), np.array([[True]]), y)


def prism(x: Sequence[float], z: Sequence[float], solid: ndarray, depth: float) -> Shape:
    """A profile of rectangles drawn out along y.

    Parameters
    ----------
    x, z : sequence of n + 1, m + 1
        Lines of the grid, rising.
    solid : bool (n, m)
        Which rectangles of the grid are filled.
    depth : float
        Along y, from 0.
    """
    lines = (np.asarray(x, float), np.array([0.0, depth]), np.asarray(z, float))
    filled = np.pad(solid[:, None, :], 1)
    corners: list[list[float]] = []
    quads = []
    for i, j, k in np.argwhere(solid[:, None, :]):
        places = [(i + a, j + b, k + c) for c in (0, 1) for b in (0, 1) for a in (0, 1)]
        for side, (di, dj, dk) in zip(SIDES, TOWARDS, strict=True):
            if not filled[i + 1 + di, j + 1 + dj, k + 1 + dk]:
                quads.append(len(corners) + np.arange(4))
                corners += [
                    [line[at] for line, at in zip(lines, places[corner], strict=True)] for corner in side
                ]
    four = np.array(quads)
    triangles = np.concatenate([four[:, [0, 1, 2]], four[:, [0, 2, 3]]])
    return mesh.welded(mesh.shape(np.array(corners), triangles))
