"""Square cuts of a layer's image at any coarseness, for looking at it from far and near."""

from __future__ import annotations

import io
import math
from typing import NamedTuple

import numba
import numpy as np
from numpy import ndarray
from PIL import Image

from sagger.geometry import raster

SIDE = 512  # pixels of a tile
_POPULATION = np.array([bin(byte).count("1") for byte in range(256)], np.uint8)


class Mask(NamedTuple):
    """What falls on every place of a layer."""

    columns: int
    rows: int
    bits: int  # per drop
    packed: (
        ndarray  # uint8 (rows, ceil(columns * bits / 8)), row 0 at y = 0, leftmost drop in the highest bits
    )


def mask(runs: raster.Runs, packed: ndarray | None, bits: int) -> Mask:
    """The mask of a layer as drawn: its packed image, or its runs where these are the whole story."""
    image = raster.bitmap(runs) if packed is None else packed
    image.flags.writeable = False  # loops are compiled for arrays of this kind only
    return Mask(runs.columns, runs.rows, bits, image)


def levels(columns: int, rows: int) -> int:
    """How many coarsenesses there are until a layer fits into one tile; level 0 is the drops themselves."""
    return 1 + max(0, math.ceil(math.log2(max(columns, rows) / SIDE)))


def tile(of: Mask, level: int, column: int, row: int) -> bytes:
    """A PNG of tile (`column`, `row`) of a level; row 0 of tiles and of pixels lies at high y.

    A pixel stands for 2**level by 2**level drops and is as dark as their mean volume: 255 bare powder, 0 the
    largest drop on every place. Pixels beyond the layer's edge are bare.

    Raises
    ------
    IndexError
        If the layer has no such tile.
    """
    wide, high = (-(-side // (1 << max(level, 0))) for side in (of.columns, of.rows))
    left, top = column * SIDE, row * SIDE
    if not (0 <= level < levels(of.columns, of.rows) and 0 <= left < wide and 0 <= top < high):
        raise IndexError(f"no tile {column}, {row} at level {level}")
    out = np.empty((min(SIDE, high - top), min(SIDE, wide - left)), np.uint8)
    if of.bits == 1 and level >= 3:
        _by_bytes(of.packed, of.rows, level, left, top, _POPULATION, out)
    else:
        _by_drops(of.packed, of.columns, of.rows, of.bits, level, left, top, out)
    kept = io.BytesIO()
    Image.fromarray(out).save(kept, "PNG", compress_level=1)
    return kept.getvalue()


def drop(of: Mask, column: int, row: int) -> int:
    """Level of the drop on one place, 0 = none; row 0 at y = 0."""
    bit = column * of.bits
    return int(of.packed[row, bit >> 3]) >> (8 - of.bits - (bit & 7)) & ((1 << of.bits) - 1)


@numba.njit(cache=True, nogil=True)
def _by_bytes(packed, rows, level, left, top, population, out):  # type: ignore[no-untyped-def]
    """Tile of one-bit drops where a pixel spans whole bytes."""
    step, width = 1 << level, 1 << (level - 3)
    full = step * step
    for i in range(out.shape[0]):
        high = rows - ((top + i) << level)
        for j in range(out.shape[1]):
            first = (left + j) * width
            last = min(first + width, packed.shape[1])
            total = 0
            for r in range(max(0, high - step), high):
                for byte in range(first, last):
                    total += population[packed[r, byte]]
            out[i, j] = 255 - (255 * total + full // 2) // full


@numba.njit(cache=True, nogil=True)
def _by_drops(packed, columns, rows, bits, level, left, top, out):  # type: ignore[no-untyped-def]
    """Tile of drops of any size, drop by drop."""
    step, most = 1 << level, (1 << bits) - 1
    full = step * step * most
    for i in range(out.shape[0]):
        high = rows - ((top + i) << level)
        for j in range(out.shape[1]):
            first = (left + j) << level
            total = 0
            for r in range(max(0, high - step), high):
                for c in range(first, min(first + step, columns)):
                    bit = c * bits
                    total += (packed[r, bit >> 3] >> (8 - bits - (bit & 7))) & most
            out[i, j] = 255 - (255 * total + full // 2) // full
