"""How much of each voxel a closed surface fills [mm]."""

from __future__ import annotations

from math import ceil, floor
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.compiled import checked

LINES = 4  # upright lines through a voxel along x and along y; heights along them are exact
_X, _Y = 0.4142, 0.6180  # of a line's cell; keep lines off edges that run along axes or diagonals


class Filled(NamedTuple):
    """Shares of the voxels around one shape."""

    first: tuple[int, int, int]  # the lowest of these voxels among those of the lattice
    shares: np.ndarray  # float64 (nx, ny, nz), from 0 to 1


def filled(
    triangles: np.ndarray, pitch_mm: tuple[float, float, float], shape: tuple[int, int, int]
) -> Filled:
    """Share of each voxel that lies inside a shape.

    Parameters
    ----------
    triangles : ndarray
        float64 (m, 3, 3), closed, counter-clockwise seen from outside, in the box [mm].
    pitch_mm : tuple of 3 float
        Sides of a voxel; the lattice begins at the origin.
    shape : tuple of 3 int
        Voxels of the lattice; what lies beyond is left out.

    Returns
    -------
    Filled
        Only voxels that the bounds of the shape touch. Along z exact; across by 4 x 4 lines in a voxel.
    """
    low, high = triangles.min(axis=(0, 1)), triangles.max(axis=(0, 1))
    first = [min(max(floor(at / side), 0), n - 1) for at, side, n in zip(low, pitch_mm, shape, strict=True)]
    last = [min(max(ceil(at / side), 1), n) for at, side, n in zip(high, pitch_mm, shape, strict=True)]
    counts = [max(end - begin, 1) for begin, end in zip(first, last, strict=True)]
    across = counts[0] * LINES, counts[1] * LINES
    whole, part = np.zeros((*across, counts[2] + 1)), np.zeros((*across, counts[2]))
    origin = np.array([n * side for n, side in zip(first, pitch_mm, strict=True)])
    scale = np.array([LINES / pitch_mm[0], LINES / pitch_mm[1], 1 / pitch_mm[2]])
    _crossed((triangles - origin) * scale, whole, part)
    solid = np.cumsum(whole[:, :, ::-1], axis=2)[:, :, ::-1][:, :, 1:] + part
    lines = solid.reshape(counts[0], LINES, counts[1], LINES, counts[2])
    return Filled((first[0], first[1], first[2]), np.clip(lines.mean(axis=(1, 3)), 0.0, 1.0))


@checked
def _crossed(triangles: ndarray, whole: ndarray, part: ndarray) -> None:
    """Add what each crossing of a triangle and an upright line says of the voxels below it.

    A face that looks up has solid below it, one that looks down takes it away again. Lengths are in lines
    along x and y, in voxels along z. `whole[k]` goes to all voxels below k, `part[k]` to voxel k.
    """
    wide, deep, high = part.shape
    for n in range(triangles.shape[0]):
        a, b, c = triangles[n]
        turn = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
        if turn == 0.0:
            continue
        sign = 1.0 if turn > 0.0 else -1.0
        for i in range(
            max(0, ceil(min(a[0], b[0], c[0]) - _X)),
            min(wide, floor(max(a[0], b[0], c[0]) - _X) + 1),
        ):
            x = i + _X
            for j in range(
                max(0, ceil(min(a[1], b[1], c[1]) - _Y)),
                min(deep, floor(max(a[1], b[1], c[1]) - _Y) + 1),
            ):
                y = j + _Y
                u = ((b[0] - x) * (c[1] - y) - (b[1] - y) * (c[0] - x)) / turn
                v = ((c[0] - x) * (a[1] - y) - (c[1] - y) * (a[0] - x)) / turn
                if u < 0.0 or v < 0.0 or u + v > 1.0:
                    continue
                z = u * a[2] + v * b[2] + (1.0 - u - v) * c[2]
                if z <= 0.0:
                    continue
                k = min(floor(z), high)
                whole[i, j, k] += sign
                if k < high:
                    part[i, j, k] += sign * (z - k)
