"""Fractional saturation: a mask in which the drops left out lie as evenly apart as they can."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np
from numpy import ndarray

from sagger.compiled import inner, kernel
from sagger.geometry.raster.runs import Runs

SIDE = 64  # drops along a side of the tile: saturations in steps of 1/4096
_SIGMA = 1.5  # drops; width of the blur by which crowding is judged


@cache
def tile() -> ndarray:
    """Blue-noise ranks int32 (SIDE, SIDE), each of 0 to SIDE² - 1 once; the same on every run.

    Source: void-and-cluster, Ulichney 1993, "The void-and-cluster method for dither array generation".
    """
    first = np.random.default_rng(1).permutation(SIDE * SIDE).reshape(SIDE, SIDE) < SIDE * SIDE // 10
    ranks = np.empty((SIDE, SIDE), np.int32)
    away = np.minimum(np.arange(SIDE), SIDE - np.arange(SIDE))
    blur = np.exp(-(away[:, None] ** 2 + away[None, :] ** 2) / (2 * _SIGMA**2))
    _rank(first.copy(), blur, ranks)
    ranks.flags.writeable = False
    return ranks


def masks(share: float, width: int) -> ndarray:
    """Packed rows uint8 (SIDE, width) of the tile at a saturation between 0 and 1, repeated along x."""
    on = tile() < round(share * SIDE * SIDE)
    packed = np.packbits(on, axis=1)
    return np.ascontiguousarray(np.tile(packed, (1, width // packed.shape[1] + 1))[:, :width])


def shift(layer: int) -> tuple[int, int]:
    """Shift of the tile along x (by eights) and y [drops] in a layer, so that drops do not stack in columns.

    Source: R-sequence, Roberts 2018, in whole steps.
    """
    return 8 * (int(layer * 0.7548776662 * (SIDE // 8)) % (SIDE // 8)), int(
        layer * 0.5698402909 * SIDE
    ) % SIDE


def filled(fields: Sequence[tuple[Runs, float]], layer: int, blank: ndarray | None = None) -> ndarray:
    """Packed image uint8 (rows, ceil(columns/8)) of disjoint regions, each with its saturation.

    It is drawn on `blank`, an image of zeros, if that is given.
    """
    rows, width = fields[0][0].rows, (fields[0][0].columns + 7) // 8
    bits = np.zeros((rows, width), np.uint8) if blank is None else blank
    along, across = shift(layer)
    for drops, share in fields:
        mask = np.ascontiguousarray(masks(share, width + along // 8)[:, along // 8 :])
        _fill(drops.start, drops.at, mask, across, bits)
    return bits


def held(drops: Runs, share: float, layer: int) -> int:
    """How many drops `filled` sets in a region, without drawing it."""
    along, across = shift(layer)
    on = np.roll(tile() < round(share * SIDE * SIDE), (-across, -along), axis=(0, 1))
    before = np.zeros((SIDE, SIDE + 1), np.int64)
    np.cumsum(on, axis=1, out=before[:, 1:])
    return int(_count(drops.start, drops.at, before))


@kernel
def _count(start, at, before):  # type: ignore[no-untyped-def]
    """Drops in all spans, from how many of a row of the tile lie before each column."""
    side, total = before.shape[0], 0
    for r in range(start.size - 1):
        row = before[r % side]
        for i in range(start[r], start[r + 1], 2):
            a, b = at[i], at[i + 1]
            total += (b // side - a // side) * row[side] + row[b % side] - row[a % side]
    return total


@inner
def stretch(row, paint, a, b):  # type: ignore[no-untyped-def]
    """Copy the bits a up to b of a painted row, into bits that are zero."""
    p, q = a >> 3, b >> 3
    head = 0xFF >> (a & 7)
    tail = (0xFF00 >> (b & 7)) & 0xFF
    if p == q:
        row[p] |= np.uint8(head & tail & paint[p])
    else:
        row[p] |= np.uint8(head & paint[p])
        for byte in range(p + 1, q):
            row[byte] = paint[byte]
        if tail:
            row[q] |= np.uint8(tail & paint[q])


@kernel
def _fill(start, at, mask, across, bits):  # type: ignore[no-untyped-def]
    for r in range(bits.shape[0]):
        row, holes = bits[r], mask[(r + across) % mask.shape[0]]
        for i in range(start[r], start[r + 1], 2):
            if at[i + 1] > at[i]:
                stretch(row, holes, at[i], at[i + 1])


@kernel
def _rank(on, blur, ranks):  # type: ignore[no-untyped-def]
    """Void and cluster: spread the first drops evenly, rank them by crowding, then fill the largest voids."""
    side = on.shape[0]
    crowd = np.zeros((side, side))
    for i in range(side):
        for j in range(side):
            if on[i, j]:
                _stamp(crowd, blur, i, j, 1.0)
    moved, tries = True, 0
    while moved and tries < 4 * side * side:  # settles after a few hundred
        tries += 1
        i, j = _extreme(crowd, on, True)
        on[i, j] = False
        _stamp(crowd, blur, i, j, -1.0)
        p, q = _extreme(crowd, on, False)
        on[p, q] = True
        _stamp(crowd, blur, p, q, 1.0)
        moved = p != i or q != j
    count = int(on.sum())
    rest, eased = on.copy(), crowd.copy()
    for rank in range(count - 1, -1, -1):
        i, j = _extreme(eased, rest, True)
        rest[i, j] = False
        _stamp(eased, blur, i, j, -1.0)
        ranks[i, j] = rank
    for rank in range(count, side * side):
        i, j = _extreme(crowd, on, False)
        on[i, j] = True
        _stamp(crowd, blur, i, j, 1.0)
        ranks[i, j] = rank


@kernel
def _extreme(crowd, on, tightest):  # type: ignore[no-untyped-def]
    """Most crowded drop, or largest void."""
    side = on.shape[0]
    best, p, q = 0.0, -1, -1
    for i in range(side):
        for j in range(side):
            if on[i, j] == tightest and (p < 0 or (crowd[i, j] > best if tightest else crowd[i, j] < best)):
                best, p, q = crowd[i, j], i, j
    return p, q


@kernel
def _stamp(crowd, blur, i, j, weight):  # type: ignore[no-untyped-def]
    side = crowd.shape[0]
    for p in range(side):
        for q in range(side):
            crowd[p, q] += weight * blur[(p - i) % side, (q - j) % side]
