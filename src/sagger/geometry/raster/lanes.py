"""Crossings of rows put in order, thirty-two rows side by side: each comparison serves all of them.

A block of rows holds as many slots as its fullest row has crossings. Slot s of row r lies at
((first[r // 32] + s) * 32 + r % 32); a row's own crossings fill its slots from the first on, in any order.

Source: odd-even merging, Batcher 1968, "Sorting networks and their applications" (from memory); with the
slots past the end left out, any number of them is put in order.
"""

from __future__ import annotations

import numpy as np

from sagger.compiled import inner, kernel

# Unsigned, because an index that cannot be negative is not looked at for being so.
SHIFT = np.uint64(5)
LANES = np.uint64(32)
ZERO, ONE = np.uint64(0), np.uint64(1)
WIDTH = 32
LAST = np.int32(2**31 - 1)  # after every crossing


def blocks(rows: int) -> int:
    """How many blocks some rows are."""
    return -(-rows // WIDTH)


@inner
def place_of(first, r, slot):  # type: ignore[no-untyped-def]
    """Where a slot of a row lies; all unsigned."""
    return ((np.uint64(first[r >> SHIFT]) + np.uint64(slot)) << SHIFT) | (r & (LANES - ONE))


@kernel
def lay_out(change, first, count):  # type: ignore[no-untyped-def]
    """Room for the crossings of each row.

    Parameters
    ----------
    change : int32 (rows+1,)
        Crossings gained (or lost) from one row to the next.
    first : int32 (blocks+1,)
        Out: first slot of each block of rows.
    count : int32 (rows,)
        Out: zero, for crossings to be counted in.

    Returns
    -------
    tuple of 2 int
        Slots and crossings in all.
    """
    held, slots, total = 0, 0, 0
    for block in range(first.size - 1):
        first[block] = slots
        most = 0
        for r in range(WIDTH * block, min(WIDTH * (block + 1), count.size)):
            held += change[r]
            total += held
            most = max(most, held)
            count[r] = 0
        slots += most
    first[first.size - 1] = slots
    return slots, total


@inner
def in_order(first, count, block, keys, last):  # type: ignore[no-untyped-def]
    """Sort all rows of a block, slots left empty get `last`; returns where the block begins and its slots."""
    at = np.uint64(first[block]) << SHIFT
    slots = np.uint64(first[block + 1] - first[block])
    for lane in range(LANES):
        r = (np.uint64(block) << SHIFT) | lane
        for slot in range(np.uint64(count[r]) if r < np.uint64(count.size) else ZERO, slots):
            keys[at + (slot << SHIFT) + lane] = last
    _merge(keys, at, slots)
    return at, slots


@kernel
def _merge(keys, at, slots):  # type: ignore[no-untyped-def]
    """Odd-even merge sort of slots of `LANES` numbers each, from element `at` on."""
    half = ONE
    while half < slots:
        pair = half + half
        for s in range(ZERO, slots, pair):
            if s + half < slots:
                _ordered(keys, at + (s << SHIFT), half << SHIFT, min(half, slots - s - half) << SHIFT)
        step = half >> ONE
        while step > ZERO:
            for s in range(ZERO, slots, pair):
                stop = min(s + pair, slots)
                t = s + step
                while t + step < stop:
                    _ordered(keys, at + (t << SHIFT), step << SHIFT, min(step, stop - t - step) << SHIFT)
                    t += step + step
            step >>= ONE
        half = pair


@inner
def _ordered(keys, at, apart, size):  # type: ignore[no-untyped-def]
    """The smaller of each two numbers first; the two lie `apart`."""
    for n in range(at, at + size):
        a, b = keys[n], keys[n + apart]
        keys[n] = a if a < b else b
        keys[n + apart] = b if a < b else a
