"""How near the things around a place are: a coarse distance field of the box, and marks of a shape in it.

A guide for choosing between places, never a guarantee: cells are coarse, overhangs are taken as filled.
"""

from __future__ import annotations

import numpy as np
from numpy import ndarray
from scipy import ndimage

from sagger.compiled import checked
from sagger.geometry.pile.lowering.columns import NOTHING, Columns

CAP = 6  # cells: farther than this counts as far


def filled(fields: Columns, pitch_mm: float, cell_mm: float) -> np.ndarray:
    """Cells (z, y, x) between underside and upper side of a shape, overhangs filled."""
    deep, wide = fields.under.shape
    high = int(fields.over.max())
    y = (np.arange(deep) * pitch_mm / cell_mm + 1e-9).astype(np.int64)
    x = (np.arange(wide) * pitch_mm / cell_mm + 1e-9).astype(np.int64)
    shape = (max(1, int(np.ceil(high / (1e3 * cell_mm)))), y[-1] + 1, x[-1] + 1)
    mask = np.zeros(shape, dtype=bool)
    for j, i in np.argwhere(fields.under < NOTHING):
        first = int(fields.under[j, i] / (1e3 * cell_mm))
        mask[first : max(first + 1, int(np.ceil(fields.over[j, i] / (1e3 * cell_mm)))), y[j], x[i]] = True
    return mask


def marks(mask: np.ndarray, most: int) -> np.ndarray:
    """Up to `most` cells (n, 3) of the mask's surface, spread evenly, as int64 (z, y, x)."""
    core = ndimage.binary_erosion(np.pad(mask, 1))[1:-1, 1:-1, 1:-1]
    cells = np.argwhere(mask & ~core)
    if len(cells) > most:
        cells = cells[np.random.default_rng(0).permutation(len(cells))[:most]]
    return np.ascontiguousarray(cells.astype(np.int64))


def halo(mask: np.ndarray) -> np.ndarray:
    """Distance to the mask in cells, capped, uint8, with a margin of `CAP` cells on every side."""
    far = ndimage.distance_transform_edt(~np.pad(mask, CAP))
    return np.asarray(np.minimum(np.round(far), CAP), dtype=np.uint8)


def empty_box(cells: tuple[int, int, int], gap_cells: int, margin: int) -> np.ndarray:
    """Field of a box without pieces: distance to the nearest wall or the floor, uint8 (z, y, x).

    `margin` cells of wall follow above and behind, so that marks of a piece in the box never fall outside.
    """
    deep, wide = np.arange(cells[1]), np.arange(cells[2])
    to_y, to_x = np.minimum(deep, deep[::-1]), np.minimum(wide, wide[::-1])
    field = np.minimum(np.minimum(to_y[:, None], to_x[None, :])[None], np.arange(cells[0])[:, None, None])
    field = np.minimum(field + 1 + gap_cells, CAP).astype(np.uint8)
    return np.ascontiguousarray(np.pad(field, ((0, margin), (0, margin), (0, margin)), constant_values=1))


@checked
def lower_field(field: ndarray, part: ndarray, z: int, y: int, x: int) -> None:
    """Lower `field` to `part` where that is smaller; part[0, 0, 0] lies over field[z, y, x]."""
    for k in range(max(0, -z), min(part.shape[0], field.shape[0] - z)):
        for j in range(max(0, -y), min(part.shape[1], field.shape[1] - y)):
            row, line = part[k, j], field[z + k, y + j]
            for i in range(max(0, -x), min(part.shape[2], field.shape[2] - x)):
                line[x + i] = min(line[x + i], row[i])
