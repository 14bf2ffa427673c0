"""Loose powder that a shape carries along when it is lifted straight up. [mm]"""

from __future__ import annotations

from math import ceil

import numpy as np
from scipy import ndimage

from sagger.geometry.cells.voxels import filled

_CELLS = 48  # along the longest side
_BESIDE = np.ones((3, 3), dtype=bool)  # cells of a level that share a corner touch


def carried(triangles: np.ndarray) -> float:
    """Volume of powder in hollows that open upwards, or not at all [mm3].

    Parameters
    ----------
    triangles : ndarray
        float64 (m, 3, 3), closed, counter-clockwise seen from outside, as the shape hangs [mm].

    Returns
    -------
    float
        Powder that has no way out which never rises, resolved to a 48th of the longest side. Heaps on level
        faces, and chokes narrower than that, are not seen.
    """
    at = triangles - triangles.min(axis=(0, 1))
    extent = at.max(axis=(0, 1))
    pitch = float(extent.max()) / _CELLS
    shape = (ceil(extent[0] / pitch) + 2, ceil(extent[1] / pitch) + 2, max(1, ceil(extent[2] / pitch)))
    cells = filled(at + np.array([pitch, pitch, 0.0]), (pitch, pitch, pitch), shape)
    share = np.zeros(shape)
    share[
        tuple(slice(low, low + size) for low, size in zip(cells.first, cells.shares.shape, strict=True))
    ] = cells.shares
    empty, held = share < 0.5, 0
    runs = empty[:, :, 0]
    for level in range(1, shape[2]):
        labels, _ = ndimage.label(empty[:, :, level], _BESIDE)
        open_here = runs.copy()
        open_here[[0, -1]], open_here[:, [0, -1]] = True, True
        out = np.unique(labels[open_here & empty[:, :, level]])
        runs = np.isin(labels, out[out > 0])
        held += int(np.count_nonzero(empty[:, :, level] & ~runs))
    return held * pitch**3
