"""Square cuts of a layer's image at any coarseness, for looking at it from far and near."""

from __future__ import annotations

import math
import zlib
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.compiled import checked
from sagger.geometry import raster

SIDE = 512  # pixels of a tile
_BASE = 3  # coarser levels are summed up from this one


class Mask(NamedTuple):
    """What falls on every place of a layer."""

    columns: int
    rows: int
    bits: int  # per drop
    # uint8 (rows, ceil(columns * bits / 8)), row 0 at y = 0, leftmost drop in the highest bits
    packed: ndarray
    base: ndarray  # uint16: drops' sizes summed over 8 by 8 places, row 0 at high y

    @property
    def nbytes(self) -> int:
        return int(self.packed.nbytes + self.base.nbytes)


def mask(runs: raster.Runs, packed: ndarray | None, bits: int) -> Mask:
    """The mask of a layer as drawn: its packed image, or its runs where these are the whole story."""
    image = raster.bitmap(runs) if packed is None else packed
    return of_image(image, runs.columns, runs.rows, bits)


def of_image(packed: ndarray, columns: int, rows: int, bits: int) -> Mask:
    """The mask of a packed image, see `Mask`."""
    packed.flags.writeable = False  # loops are compiled for arrays of this kind only
    base = np.zeros((-(-rows >> _BASE), -(-columns >> _BASE)), np.uint16)
    _sum_drops(packed, _sizes(bits, _BASE), _bytes(bits, _BASE), rows, _BASE, base)
    base.flags.writeable = False
    return Mask(columns, rows, bits, packed, base)


def levels(columns: int, rows: int) -> int:
    """How many coarsenesses there are until a layer fits into one tile; level 0 is the drops themselves."""
    return 1 + max(0, math.ceil(math.log2(max(columns, rows) / SIDE)))


def tile(of: Mask, level: int, column: int, row: int) -> ndarray:
    """Tile (`column`, `row`) of a level, uint8 (height, width); row 0 of tiles and of pixels lies at high y.

    A pixel stands for 2**level by 2**level drops and tells their mean volume: 0 bare powder, 255 the
    largest drop on every place. Places beyond the layer's edge are bare.

    Raises
    ------
    IndexError
        If the layer has no such tile.
    """
    across, down = (-(-side // (1 << max(level, 0))) for side in (of.columns, of.rows))
    left, top = column * SIDE, row * SIDE
    if not (0 <= level < levels(of.columns, of.rows) and 0 <= left < across and 0 <= top < down):
        raise IndexError(f"no tile {column}, {row} at level {level}")
    sums = np.zeros((min(SIDE, down - top), min(SIDE, across - left)), np.uint32)
    if level >= _BASE:
        _sum_base(of.base, level - _BASE, left, top, sums)
    else:
        sizes, wide = _sizes(of.bits, level), _bytes(of.bits, level)
        near = of.packed[:, (left * of.bits << level) >> 3 :]
        _sum_drops(near, sizes, wide, of.rows - (top << level), level, sums)
    full = ((1 << of.bits) - 1) << 2 * level
    return ((255 * sums + full // 2) // full).astype(np.uint8)


def packed(pixels: ndarray) -> bytes:
    """Pixels row by row, in zlib format: what HTTP calls "deflate"."""
    return zlib.compress(pixels.tobytes(), 1)


def _bytes(bits: int, level: int) -> int:
    """Bytes of a row of drops that a pixel spans, 1 at least."""
    return max(1, bits << level >> 3)


def _sizes(bits: int, level: int) -> ndarray:
    """Sums of the drops' sizes in a byte, uint8 (256, pixels that share the byte)."""
    values = np.arange(256, dtype=np.uint8)
    each = values[:, None] >> np.arange(8 - bits, -1, -bits) & ((1 << bits) - 1)
    sums: ndarray = each.reshape(256, max(1, 8 // (bits << level)), -1).sum(axis=2)
    return sums.astype(np.uint8)


@checked
def _sum_drops(packed, sizes, wide, above, level, sums):  # type: ignore[no-untyped-def]
    """Sizes summed over 2**level rows each, from the row below `above` downwards."""
    step, shared = 1 << level, sizes.shape[1]
    for i in range(sums.shape[0]):
        high = above - (i << level)
        for r in range(max(0, high - step), high):
            row = packed[r]
            for b in range(min(row.size, -(-sums.shape[1] * wide // shared))):
                if row[b]:
                    at = b // wide * shared
                    for o in range(min(shared, sums.shape[1] - at)):
                        sums[i, at + o] += sizes[row[b], o]


@checked
def _sum_base(base, level, left, top, sums):  # type: ignore[no-untyped-def]
    """Sums over 2**level by 2**level of `base`."""
    for i in range(sums.shape[0]):
        r = (top + i) << level
        for j in range(sums.shape[1]):
            c = (left + j) << level
            total = 0
            for p in range(r, min(r + (1 << level), base.shape[0])):
                for q in range(c, min(c + (1 << level), base.shape[1])):
                    total += base[p, q]
            sums[i, j] = total
