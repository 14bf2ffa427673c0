"""Rows of spans: the only form a layer takes between the cut and the file."""

from __future__ import annotations

import hashlib

import numpy as np
from numpy import ndarray

from sagger.compiled import kernel
from sagger.goods.good import good

_ONE = np.uint64(1)


@good
class Runs:
    """Row r holds spans [at[i], at[i+1]) for i = start[r], start[r]+2, … below start[r+1]; columns from 0."""

    columns: int
    rows: int
    start: ndarray  # int32 (rows+1,)
    at: ndarray  # int32, ascending within a row, an even number per row


def runs(columns: int, rows: int, start: ndarray, at: ndarray) -> Runs:
    """Runs from any array of row starts and transitions, copied and made read-only."""
    return Runs(
        columns=columns,
        rows=rows,
        start=np.array(start, np.int32, copy=True),
        at=np.array(at, np.int32, copy=True),
    )


def frozen(columns: int, rows: int, start: ndarray, at: ndarray) -> Runs:
    """Runs from arrays made for them, which are not copied but made read-only."""
    start.flags.writeable = False
    at.flags.writeable = False
    return Runs(columns=columns, rows=rows, start=start, at=at)


def blank(columns: int, rows: int) -> Runs:
    """Runs without a span."""
    return runs(columns, rows, np.zeros(rows + 1, np.int32), np.empty(0, np.int32))


def count(drops: Runs) -> int:
    """How many columns the spans cover in all rows together."""
    return int(_covered(drops.at))


def fingerprint(drops: Runs) -> str:
    """Name of the runs by their content: 32 hex digits."""
    # SHA-256 has instructions of its own on current processors; half as many bytes take half the time.
    short = drops.at.astype("<u2" if drops.columns < 2**16 else "<i4")
    state = hashlib.sha256(f"{drops.columns} {drops.rows}".encode())
    state.update(drops.start.data)
    state.update(short.data)
    return state.hexdigest()[:32]


def bitmap(drops: Runs) -> ndarray:
    """Packed image uint8 (rows, ceil(columns/8)), leftmost column in the highest bit, drop = 1."""
    bits = np.zeros((drops.rows, (drops.columns + 7) // 8), np.uint8)
    _set_bits(drops.start, drops.at, bits)
    return bits


def flipped(drops: Runs) -> Runs:
    """Runs with the last row first."""
    start, at = np.empty(drops.rows + 1, np.int32), np.empty(drops.at.size, np.int32)
    _flip(drops.start, drops.at, start, at)
    return frozen(drops.columns, drops.rows, start, at)


def from_image(image: ndarray) -> Runs:
    """Runs of an image bool (rows, columns) in which True is a drop."""
    rows, columns = image.shape
    padded = np.zeros((rows, columns + 2), np.int8)
    padded[:, 1:-1] = image
    row, at = np.nonzero(np.diff(padded, axis=1))
    start = np.zeros(rows + 1, np.int32)
    start[1:] = np.cumsum(np.bincount(row, minlength=rows))
    return runs(columns, rows, start, at)


def image(drops: Runs) -> ndarray:
    """Image bool (rows, columns) of the runs."""
    bits = np.unpackbits(bitmap(drops), axis=1, count=drops.columns)
    return bits.astype(bool)


@kernel
def _flip(start_in, at_in, start, at):  # type: ignore[no-untyped-def]
    n, rows = np.uint64(0), start.size - 1
    start[0] = 0
    for r in range(rows):
        first, last = np.uint64(start_in[rows - 1 - r]), np.uint64(start_in[rows - r])
        for i in range(last - first):
            at[n + i] = at_in[first + i]
        n += last - first
        start[r + 1] = n


@kernel
def _covered(at):  # type: ignore[no-untyped-def]
    total = 0
    for i in range(np.uint64(at.size) >> _ONE):
        total += at[(i << _ONE) + _ONE] - at[i << _ONE]
    return total


@kernel
def _set_bits(start, at, bits):  # type: ignore[no-untyped-def]
    """Set the bits of every span in a zeroed packed image."""
    for r in range(bits.shape[0]):
        row = bits[r]
        for i in range(start[r], start[r + 1], 2):
            a, b = at[i], at[i + 1]
            if b <= a:
                continue
            p, q = a >> 3, b >> 3
            head = 0xFF >> (a & 7)
            tail = (0xFF00 >> (b & 7)) & 0xFF
            if p == q:
                row[p] |= np.uint8(head & tail)
                continue
            row[p] |= np.uint8(head)
            for byte in range(p + 1, q):  # LLVM makes a memset of this
                row[byte] = 255
            if tail:
                row[q] |= np.uint8(tail)
