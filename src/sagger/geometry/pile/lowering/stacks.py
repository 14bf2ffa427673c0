"""Copies of shapes in lattices: how close they stand, and how far one layer lies over another.

Shapes are seen over square columns [y, x]; a shape stands clear of another if no column of its underside lies
under the other's reach, so that each can be lifted without the other.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.compiled import checked
from sagger.geometry.pile.lowering.columns import NOTHING, Columns
from sagger.geometry.pile.lowering.nofit import CLEAR, lowest

_CLOSER = 4  # at most so many shapes grip into each other along one axis
_NEVER = 1 << 30


class StripBed(NamedTuple):
    """Columns of a bed along y and x, and columns that two shapes of a strip take."""

    deep: int
    wide: int
    sizes: tuple[int, int, int, int]  # along y and x, of the first and the second


def meets(lying: Columns, coming: Columns) -> ndarray:
    """Where the second shape does not stand clear of the first: bool, an odd number along y and x.

    The middle is both lower corners in one place; offsets are those of the second from the first.
    """
    mask = np.where(coming.under < NOTHING, 0, NOTHING).astype(np.int32)
    over = np.where(lying.reach > -NOTHING, 0, -NOTHING).astype(np.int32)
    return _centred(lowest(over, mask) > CLEAR, lying, coming, False)


def rises(lying: Columns, coming: Columns) -> ndarray:
    """Lowest height of the second shape over the first [um], offsets as in `meets`; far below 0 if clear."""
    return _centred(lowest(lying.reach, coming.under), lying, coming, -2 * NOTHING)


def _centred(table: ndarray, lying: Columns, coming: Columns, fill: int) -> ndarray:
    """A table with the offset (0, 0) in its middle."""
    zero = [lying.pad + length - 1 for length in coming.under.shape]
    half = [max(at, size - 1 - at) for at, size in zip(zero, table.shape, strict=True)]
    out = np.full((2 * half[0] + 1, 2 * half[1] + 1), fill, dtype=table.dtype)
    top, left = half[0] - zero[0], half[1] - zero[1]
    out[top : top + table.shape[0], left : left + table.shape[1]] = table
    return out


def folded(table: ndarray, deep: int, wide: int) -> ndarray:
    """Largest of a table's values at offsets that are alike on a lattice of `deep` by `wide` columns."""
    half = table.shape[0] // 2, table.shape[1] // 2
    tiles = [2 * -(-h // step) + 1 for h, step in zip(half, (deep, wide), strict=True)]
    out = np.full((tiles[0] * deep, tiles[1] * wide), -2 * NOTHING, dtype=table.dtype)
    top, left = (tiles[0] // 2) * deep - half[0], (tiles[1] // 2) * wide - half[1]
    out[top : top + table.shape[0], left : left + table.shape[1]] = table
    return np.asarray(out.reshape(tiles[0], deep, tiles[1], wide).max(axis=(0, 2)))


def closest(table: ndarray, axis: int) -> int:
    """Columns from copy to copy in a row along y (0) or x (1); `table` is what a shape meets of its own."""
    middle = table.shape[0] // 2, table.shape[1] // 2
    line = table[middle[0], middle[1] :] if axis else table[middle[0] :, middle[1]]
    return next(d for d in range(1, len(line) + 1) if not line[d::d].any())


@checked
def _clear(table: ndarray, dy: int, dx: int, period: int) -> bool:
    """Whether no copy along x, a whole number of periods away, is met at this offset."""
    y, half = dy + table.shape[0] // 2, table.shape[1] // 2
    if y < 0 or y >= table.shape[0]:
        return True
    x = (dx + half) % period
    while x < table.shape[1]:
        if table[y, x]:
            return False
        x += period
    return True


@checked
def _across(
    own: ndarray, pair: ndarray, other: ndarray, at: tuple[int, int, int], least: int, most: int
) -> int:
    """Least distance of strips of which none meets another; `most` if there is none below."""
    dy, dx, period = at
    for across in range(least, most):
        clear, far = True, across
        while clear and far < own.shape[0] + other.shape[0] + pair.shape[0]:
            clear = _clear(own, far, 0, period) and _clear(other, far, 0, period)
            clear = clear and _clear(pair, dy + far, dx, period) and _clear(pair, dy - far, dx, period)
            far += across
        if clear:
            return across
    return most


@checked
def _fit(room: int, size: int, step: int) -> int:
    """How many of a size fit into a room, so far from one to the next."""
    return 0 if size > room or step == 0 else (room - size) // step + 1


@checked
def best_strip(own: ndarray, pair: ndarray, other: ndarray, bed: StripBed) -> tuple[int, int, int, int, int]:
    """The strip of two shapes repeated along x, and strips along y, with most shapes on a bed.

    Parameters
    ----------
    own, pair, other : ndarray
        What the first meets of its own, what the second meets of the first, and of its own: see `meets`.

    Returns
    -------
    tuple of int
        Shapes in all; columns from the first to the second along y and x, from pair to pair, from strip to
        strip.
    """
    best = (0, 0, 0, 1, 1)
    for dy in range(-(pair.shape[0] // 2) - 1, pair.shape[0] // 2 + 2):
        for dx in range(pair.shape[1] // 2 + 2):
            period = _period(own, pair, other, bed, dy, dx)
            low, high = min(0, dy), max(bed.sizes[0], dy + bed.sizes[2])
            along = _fit(bed.wide, bed.sizes[1], period) + _fit(bed.wide - dx, bed.sizes[3], period)
            least = max(1, (high - low) // _CLOSER)
            if period == 0 or along * _fit(bed.deep, high - low, least) <= best[0]:
                continue
            most = high - low + own.shape[0] // 2 + other.shape[0] // 2
            across = _across(own, pair, other, (dy, dx, period), least, most)
            count = along * _fit(bed.deep, high - low, across)
            if count > best[0]:
                best = (count, dy, dx, period, across)
    return best


@checked
def _period(own: ndarray, pair: ndarray, other: ndarray, bed: StripBed, dy: int, dx: int) -> int:
    """Least distance of pairs in a strip at which none meets another; 0 if the two meet each other."""
    if not _clear(pair, dy, dx, _NEVER):
        return 0
    first, second = bed.sizes[1], bed.sizes[3]
    for period in range(max(1, max(first, second) // _CLOSER), first + second + pair.shape[1]):
        alone = _row_clear(own, period) and _row_clear(other, period)
        if alone and _clear(pair, dy, dx, period):
            return period
    return 0


@checked
def _row_clear(table: ndarray, period: int) -> bool:
    """Whether no copy in a row along x is met."""
    y, half = table.shape[0] // 2, table.shape[1] // 2
    x = half + period
    while x < table.shape[1]:
        if table[y, x]:
            return False
        x += period
    return True
