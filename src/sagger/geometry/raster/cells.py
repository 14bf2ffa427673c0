"""Cells of the drop lattice that outlines pass, with what each segment adds to them, in order along each row.

Source: as `cover`.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.compiled import inner, kernel
from sagger.geometry.raster import lanes
from sagger.geometry.raster.drawing import DropLattice, Scratch, Section
from sagger.geometry.raster.lanes import ONE, SHIFT, place_of


class OutlineCells(NamedTuple):
    """Cells that outlines pass, row by row, and their columns in the slots of `lanes`."""

    start: ndarray  # int64 (rows+1,): a row's first cell
    cells: ndarray  # float32 (n, 3): column, area, height; as the segments came
    shift: int  # a key is (column << shift) | place in the row
    last: np.signedinteger  # key after all others
    first: ndarray
    held: ndarray
    keys: ndarray  # int32, or int64 if a row holds too many
    edges_along: bool = False  # stretches between the cells may be covered in part, as from a finer lattice


def cells_of(section: Section, lattice: DropLattice, scratch: Scratch) -> OutlineCells:
    """All cells that some outline passes, laid out to be put in order block by block."""
    rows, columns = lattice.rows, lattice.columns
    start = scratch.exact("cell start", rows + 1, np.int64)
    total = _count_cells(section.segments, section.used, columns, start)
    cells = scratch.take("cells", (total, 3), np.float32)
    _list_cells(section.segments, section.used, columns, start[:-1].copy(), cells)
    return laid_out(start, cells, columns, scratch)


def laid_out(start: ndarray, cells: ndarray, columns: int, scratch: Scratch) -> OutlineCells:
    """Cells that are listed row by row, with slots for their columns."""
    counts = np.diff(start)
    shift = int(counts.max(initial=0)).bit_length()
    kind = np.int32 if (columns + 1) << shift < 2**31 else np.int64
    first = scratch.exact("cell first", lanes.blocks(counts.size) + 1, np.int32)
    held = scratch.exact("cell held", counts.size, np.int32)
    slots, _ = lanes.lay_out(np.diff(counts, prepend=0, append=0), first, held)
    keys = scratch.take(f"cell keys {kind.__name__}", (slots * lanes.WIDTH,), kind)
    _list_keys(start, cells, shift, first, held, keys)
    return OutlineCells(start, cells, shift, kind(np.iinfo(kind).max), first, held, keys)


@kernel
def _count_cells(segments, used, columns, start):  # type: ignore[no-untyped-def]
    """Row pointers of the cells; returns how many there are."""
    rows, wide = start.size - 1, float(columns)
    start[:] = 0
    for s in range(np.uint64(used)):
        x0, y0, x1, y1, _, slope = _upward(segments, s)
        if y0 == y1:
            continue
        for r in range(max(math.floor(y0), 0), min(math.ceil(y1), rows)):
            a, b, _ = _within((x0, y0, x1, y1), slope, r, wide)
            start[np.uint64(r + 1)] += abs(math.floor(a) - math.floor(b)) + 1
    for r in range(rows):
        start[r + 1] += start[r]
    return start[rows]


@inner
def _upward(segments, s):  # type: ignore[no-untyped-def]
    """A segment from its lower to its upper end; -1, or 1 if that turned it round; and its slope."""
    x0, y0, x1, y1 = segments[s, 0], segments[s, 1], segments[s, 2], segments[s, 3]
    down = y0 > y1
    xa, ya, xb, yb = x1 if down else x0, y1 if down else y0, x0 if down else x1, y0 if down else y1
    return xa, ya, xb, yb, 1.0 if down else -1.0, (xb - xa) / (yb - ya)


@inner
def _within(ends, slope, r, wide):  # type: ignore[no-untyped-def]
    """Where a segment enters and leaves a row, and the height it spans there."""
    x0, y0, x1, y1 = ends
    low, high = max(y0, float(r)), min(y1, r + 1.0)
    a = x0 + (low - y0) * slope
    b = x1 if y1 <= r + 1.0 else x0 + (high - y0) * slope
    return min(max(a, 0.0), wide), min(max(b, 0.0), wide), high - low


@kernel
def _list_cells(segments, used, columns, cursor, cells):  # type: ignore[no-untyped-def]
    """For each segment and row, the cells passed: height spanned and area to the right of the segment."""
    rows, wide = cursor.size, float(columns)
    for s in range(np.uint64(used)):
        x0, y0, x1, y1, sign, slope = _upward(segments, s)
        if y0 == y1:
            continue
        for r in range(np.uint32(max(math.floor(y0), 0)), np.uint32(max(min(math.ceil(y1), rows), 0))):
            a, b, whole = _within((x0, y0, x1, y1), slope, r, wide)
            whole *= sign
            left, right = min(a, b), max(a, b)
            first, last = np.int32(math.floor(left)), np.int32(math.floor(right))
            at = np.uint64(cursor[r])
            cursor[r] += last - first + 1
            if first == last:
                area = whole * (1.0 - (0.5 * (left + right) - first))
                cells[at, 0], cells[at, 1], cells[at, 2] = first, area, whole
                continue
            for c in range(first, last + 1):
                u, v = max(left, float(c)), min(right, c + 1.0)
                part = whole * (v - u) / (right - left)
                area = part * (1.0 - (0.5 * (u + v) - c))
                cells[at, 0], cells[at, 1], cells[at, 2] = c, area, part
                at += ONE


@kernel
def _list_keys(start, cells, shift, first, held, keys):  # type: ignore[no-untyped-def]
    """Write each cell's column and place in its row into a slot of the row."""
    for r in range(np.uint64(held.size)):
        count = start[r + ONE] - start[r]
        held[r] = count
        for n in range(np.uint64(count)):
            key = np.int64(cells[np.uint64(start[r]) + n, 0]) << shift | np.int64(n)
            keys[place_of(first, r, n)] = key


@inner
def summed(cells, r, begin, slot, total):  # type: ignore[no-untyped-def]
    """The cells of one column from a slot on: the column's cover, the height after it, the next slot."""
    row, mask = np.uint64(cells.start[r]), (np.int64(1) << cells.shift) - 1
    column, here = cells.keys[begin + (slot << SHIFT)] >> cells.shift, total
    while slot < np.uint64(cells.held[r]) and cells.keys[begin + (slot << SHIFT)] >> cells.shift == column:
        cell = row + np.uint64(cells.keys[begin + (slot << SHIFT)] & mask)
        here += cells.cells[cell, 1]
        total += cells.cells[cell, 2]
        slot += ONE
    return min(1.0, abs(here)), total, slot
