"""Sections grown or shrunk by an exact distance, smaller than a drop if need be.

A segment thickened by d is a capsule; a row meets it in one interval, worked out in closed form in mm, so the
spacing of drops may differ along x and y. Shrunk by d is what the section holds and no capsule does, grown by
d what the section or a capsule holds: round corners, shells and holes alike, and no outline is ever chained.

Source: the covering argument is elementary; offsets by winding numbers: Chen & McMains, DETC2005-85513.
"""

from __future__ import annotations

import math

import numpy as np

from sagger.compiled import inner, kernel
from sagger.geometry.raster.drawing import DropLattice, Scratch, Section, crossings, edges
from sagger.geometry.raster.lanes import LANES, LAST, ONE, SHIFT, ZERO, in_order, place_of
from sagger.geometry.raster.runs import Runs


def offset(section: Section, distance_mm: float, lattice: DropLattice, scratch: Scratch) -> Runs:
    """Runs of a section grown (distance above 0) or shrunk (below 0).

    Parameters
    ----------
    section : Section
        From `cut_and_place`.
    distance_mm : float
        How far outlines move outward [mm].
    lattice : Lattice
        Where drops can fall.
    scratch : Scratch
        Buffers of this thread.
    """
    columns, rows, pitch_mm = lattice
    reach = abs(distance_mm)
    outline = edges(section, rows, scratch)
    change = outline.change.copy()
    _capsule_rows(section.segments, section.used, reach / pitch_mm[1], change)
    first, held, keys, total = crossings(outline, change, columns, scratch)
    _cross_capsules(section.segments[: section.used], reach, pitch_mm, columns, (first, held, keys))
    start = np.empty(rows + 1, np.int32)
    at = scratch.take("offset at", (total,), np.int32)
    used = _wind(first, held, keys, distance_mm > 0, start, at)
    return Runs(columns=columns, rows=rows, start=start, at=at[:used])


@kernel
def _capsule_rows(segments, used, reach, change):  # type: ignore[no-untyped-def]
    rows = change.size - 1
    for s in range(used):
        y0, y1 = segments[s, 1], segments[s, 3]
        first = max(math.ceil(min(y0, y1) - reach - 0.5), 0)
        last = min(math.ceil(max(y0, y1) + reach - 0.5), rows)
        if last > first:  # each row enters and leaves
            change[first] += 2
            change[last] -= 2


@kernel
def _cross_capsules(segments, reach, pitch, columns, slots):  # type: ignore[no-untyped-def]
    """Write where each row enters and leaves each capsule: (column << 2) | 2, (column << 2) | 3."""
    first, held, keys = slots
    rows = held.size
    for s in range(segments.shape[0]):
        x0, y0, x1, y1 = segments[s, 0], segments[s, 1], segments[s, 2], segments[s, 3]
        if y0 > y1:
            x0, y0, x1, y1 = x1, y1, x0, y0
        low = max(math.ceil(y0 - reach / pitch[1] - 0.5), 0)
        high = min(math.ceil(y1 + reach / pitch[1] - 0.5), rows)
        ax, ay, bx, by = x0 * pitch[0], y0 * pitch[1], x1 * pitch[0], y1 * pitch[1]
        for r in range(low, high):
            left, right = _interval(ax, ay, bx, by, reach, (r + 0.5) * pitch[1])
            a = min(max(math.ceil(left / pitch[0] - 0.5), 0), columns)
            b = min(max(math.ceil(right / pitch[0] - 0.5), 0), columns)
            slot = held[r]
            held[r] = slot + 2
            at = place_of(first, np.uint64(r), slot)
            keys[at], keys[at + LANES] = (a << 2) | 2, (b << 2) | 3


@inner
def _interval(ax, ay, bx, by, reach, y):  # type: ignore[no-untyped-def]
    """Where the line at height y meets the capsule around a-b (ay <= by), whose ends are half discs."""
    dx, dy = bx - ax, by - ay
    length = math.sqrt(dx * dx + dy * dy)
    near = math.sqrt(max(reach * reach - (y - ay) * (y - ay), 0.0))
    far = math.sqrt(max(reach * reach - (y - by) * (y - by), 0.0))
    if dy <= 0.0 or length == 0.0:
        return min(ax, bx) - near, max(ax, bx) + near
    # Feet on the segment, as shares of its length, of the points where the row meets the two long sides.
    nx, ny = dy / length, -dx / length
    left, right = (y - ay + reach * ny) / dy, (y - ay - reach * ny) / dy
    if left < 0.0:
        low = ax - near
    elif left > 1.0:
        low = bx - far
    else:
        low = ax + left * dx - reach * nx
    if right < 0.0:
        high = ax + near
    elif right > 1.0:
        high = bx + far
    else:
        high = ax + right * dx + reach * nx
    return low, high


@kernel
def _wind(first, held, keys, grow, start, at):  # type: ignore[no-untyped-def]
    """Spans inside the section and outside all capsules, or inside either when growing."""
    n = ZERO
    start[0] = 0
    for block in range(first.size - 1):
        begin, _ = in_order(first, held, block, keys, LAST)
        for r in range(np.uint64(block) << SHIFT, min(np.uint64(block + 1) << SHIFT, np.uint64(held.size))):
            row = begin + (r & (LANES - ONE))
            winding, covers, inside, i = 0, 0, False, row
            end = row + (np.uint64(held[r]) << SHIFT)
            while i < end:
                column = keys[i] >> 2
                while i < end and keys[i] >> 2 == column:
                    sign = 2 * (keys[i] & 1) - 1
                    if keys[i] & 2:
                        covers -= sign
                    else:
                        winding += sign
                    i += LANES
                now = (winding != 0 or covers > 0) if grow else (winding != 0 and covers == 0)
                if now != inside:
                    at[n] = column
                    n += ONE
                    inside = now
            if inside:
                n -= ONE
            start[r + ONE] = n
    return n
