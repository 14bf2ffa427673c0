"""Grey levels from the exact share of each drop's cell that a section covers.

Each segment adds to the cells it passes the height it spans there and the area to its right; summed along a
row these give the exact cover. Where outlines of two shells share a cell the cover is held at one.

Source: signed-area accumulation, as used for the outlines of letters; derivation: Barrett 2015,
nothings.org/gamedev/rasterize.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.geometry.raster import halftone
from sagger.geometry.raster.drawing import Lattice, Scratch, Section
from sagger.geometry.raster.halftone import stretch
from sagger.geometry.raster.kernel import kernel
from sagger.geometry.raster.runs import Runs


class Tone(NamedTuple):
    """How cover becomes drops."""

    bits: int  # 1, 2 or 4: levels 0 to 2**bits - 1, of evenly growing volume
    skin: float  # saturation, of the largest drop [-]
    core: float
    layer: int  # shifts the mask that makes saturations between two levels


def levels(section: Section, core: Runs, tone: Tone, lattice: Lattice, scratch: Scratch) -> ndarray:
    """Packed levels uint8 (rows, ceil(columns * bits / 8)): cover times saturation, 0 = no drop.

    Parameters
    ----------
    section : Section
        From `cut_and_place` with `whole=True`.
    core : Runs
        Where the core's saturation holds; blank if nowhere.
    tone : Tone
        How cover becomes drops.
    lattice : Lattice
        Where drops can fall.
    scratch : Scratch
        Buffers of this thread.
    """
    cells = _cells(section, lattice, scratch)
    packed = np.zeros((lattice.rows, (lattice.columns * tone.bits + 7) // 8), np.uint8)
    noise = np.ascontiguousarray((halftone.tile() + 0.5) / halftone.SIDE**2)
    shares = np.array([tone.skin, tone.core])
    along, across = halftone.shift(tone.layer)
    noise = np.ascontiguousarray(np.roll(noise, (-across, -along), axis=(0, 1)))
    paints = np.stack([_painted(share, tone.bits, noise, packed.shape[1]) for share in shares])
    form = (tone.bits, lattice.columns)
    _fill(cells, (core.start, core.at), shares, noise, paints, form, packed)
    return packed


def covered(section: Section, lattice: Lattice, scratch: Scratch) -> ndarray:
    """Share of each cell that the section covers, float64 (rows, columns); for small layers."""
    out = np.zeros((lattice.rows, lattice.columns))
    _spread(_cells(section, lattice, scratch), out)
    return out


def _painted(share: float, bits: int, noise: ndarray, width: int) -> ndarray:
    """Packed rows of a place that is wholly covered, repeated along x; level steps chosen by the mask."""
    exact = share * (2**bits - 1)
    level = np.floor(exact + np.where(abs(exact - round(exact)) < 1e-9, 0.5, noise)).astype(np.uint8)
    places = np.unpackbits(level[..., None], axis=2)[..., 8 - bits :]
    packed = np.packbits(places.reshape(len(level), -1), axis=1)
    return np.tile(packed, (1, width // packed.shape[1] + 1))[:, :width]


def _cells(section: Section, lattice: Lattice, scratch: Scratch) -> tuple[ndarray, ndarray, ndarray, ndarray]:
    """Row pointers, columns, areas and heights of all cells that some outline passes, sorted."""
    start = scratch.exact("cell start", lattice.rows + 1, np.int64)
    total = _count_cells(section.segments, section.used, lattice.columns, start)
    column = scratch.take("cell column", (total,), np.int32)
    area = scratch.take("cell area", (total,), np.float32)
    height = scratch.take("cell height", (total,), np.float32)
    cursor = scratch.exact("cell cursor", lattice.rows, np.int64)
    cursor[:] = start[:-1]
    _list_cells(section.segments, section.used, lattice.columns, cursor, column, area, height)
    _sort_cells(start, column, area, height)
    return start, column, area, height


def volume(packed: ndarray, bits: int) -> int:
    """Largest drops that the levels of a packed image add up to, to the nearest."""
    flat = packed.reshape(-1)
    words = flat[: flat.size // 8 * 8].view(np.uint64)
    rest = np.frombuffer(flat[words.size * 8 :].tobytes().ljust(8, b"\0"), np.uint64)
    return round(int(_levels_sum(words, bits) + _levels_sum(rest, bits)) / ((1 << bits) - 1))


@kernel
def _levels_sum(words, bits):  # type: ignore[no-untyped-def]
    """Sum of all levels, many at once: neighbouring fields of a word are added until they are bytes."""
    ones, twos, fours = (
        np.uint64(0x5555555555555555),
        np.uint64(0x3333333333333333),
        np.uint64(0x0F0F0F0F0F0F0F0F),
    )
    total = np.uint64(0)
    for i in range(words.size):
        w = words[i]
        if bits == 1:
            w = (w & ones) + ((w >> np.uint64(1)) & ones)
        if bits <= 2:
            w = (w & twos) + ((w >> np.uint64(2)) & twos)
        w = (w & fours) + ((w >> np.uint64(4)) & fours)
        total += (w * np.uint64(0x0101010101010101)) >> np.uint64(56)
    return np.int64(total)


@kernel
def _count_cells(segments, used, columns, start):  # type: ignore[no-untyped-def]
    """Row pointers of the cells; returns how many there are."""
    rows = start.size - 1
    start[:] = 0
    for s in range(used):
        x0, y0, x1, y1 = segments[s, 0], segments[s, 1], segments[s, 2], segments[s, 3]
        if y0 > y1:
            x0, y0, x1, y1 = x1, y1, x0, y0
        if y0 == y1:
            continue
        slope = (x1 - x0) / (y1 - y0)
        for r in range(max(math.floor(y0), 0), min(math.ceil(y1), rows)):
            a = x0 + (max(y0, r) - y0) * slope
            b = x1 if y1 <= r + 1 else x0 + (r + 1 - y0) * slope
            a, b = min(max(a, 0.0), columns), min(max(b, 0.0), columns)
            start[r + 1] += abs(math.floor(a) - math.floor(b)) + 1
    for r in range(rows):
        start[r + 1] += start[r]
    return start[rows]


@kernel
def _list_cells(segments, used, columns, cursor, column, area, height):  # type: ignore[no-untyped-def]
    """For each segment and row, the cells passed: height spanned and area to the right of the segment."""
    rows = cursor.size
    for s in range(used):
        x0, y0, x1, y1 = segments[s, 0], segments[s, 1], segments[s, 2], segments[s, 3]
        sign = -1.0
        if y0 > y1:
            x0, y0, x1, y1 = x1, y1, x0, y0
            sign = 1.0
        if y0 == y1:
            continue
        slope = (x1 - x0) / (y1 - y0)
        for r in range(max(math.floor(y0), 0), min(math.ceil(y1), rows)):
            low, high = max(y0, float(r)), min(y1, r + 1.0)
            a = x0 + (low - y0) * slope
            b = x1 if y1 <= r + 1 else x0 + (high - y0) * slope
            a, b = min(max(a, 0.0), float(columns)), min(max(b, 0.0), float(columns))
            whole = (high - low) * sign
            left, right = min(a, b), max(a, b)
            first, last = math.floor(left), math.floor(right)
            at = cursor[r]
            for c in range(first, last + 1):
                u, v = max(left, float(c)), min(right, c + 1.0)
                part = whole if first == last else whole * (v - u) / (right - left)
                column[at], height[at] = c, part
                area[at] = part * (1.0 - (0.5 * (u + v) - c))
                at += 1
            cursor[r] = at


@kernel
def _sort_cells(start, column, area, height):  # type: ignore[no-untyped-def]
    for r in range(start.size - 1):
        for i in range(start[r] + 1, start[r + 1]):
            c, a, h = column[i], area[i], height[i]
            j = i - 1
            while j >= start[r] and column[j] > c:
                column[j + 1], area[j + 1], height[j + 1] = column[j], area[j], height[j]
                j -= 1
            column[j + 1], area[j + 1], height[j + 1] = c, a, h


@kernel
def _spread(cells, out):  # type: ignore[no-untyped-def]
    start, column, area, height = cells
    rows, columns = out.shape
    for r in range(rows):
        total, i, last = 0.0, start[r], start[r + 1]
        while i < last:
            c = column[i]
            here = total
            while i < last and column[i] == c:
                here += area[i]
                total += height[i]
                i += 1
            if c < columns:
                out[r, c] = min(1.0, abs(here))
            after = column[i] if i < last else columns
            if abs(total) > 1e-4:
                for q in range(c + 1, min(after, columns)):
                    out[r, q] = min(1.0, abs(total))


@kernel
def _fill(cells, core, shares, noise, paints, form, packed):  # type: ignore[no-untyped-def]
    """Write the level of every drop: edge cells one by one, stretches between them from the painted rows."""
    start, column, area, height = cells
    core_start, core_at = core
    bits, columns = form
    side, steps = noise.shape[0], 2**bits - 1
    for r in range(packed.shape[0]):
        row, paint = packed[r], paints[:, r % side]
        total, i, last, k, core_end = 0.0, start[r], start[r + 1], core_start[r], core_start[r + 1]
        while i < last:
            c = column[i]
            here = total
            while i < last and column[i] == c:
                here += area[i]
                total += height[i]
                i += 1
            while k < core_end and core_at[k] <= c:
                k += 1
            inside = (k - core_start[r]) & 1
            if c < columns:
                exact = min(1.0, abs(here)) * shares[inside] * steps
                bump = 0.5 if inside == 0 else noise[r % side, c % side]
                level = min(int(exact + bump), steps)
                row[(c * bits) >> 3] |= np.uint8(level << (8 - bits - ((c * bits) & 7)))
            a, after = c + 1, min(column[i], columns) if i < last else columns
            if abs(total) < 1e-4:  # outside, but for rounding
                continue
            while a < after:
                b = min(core_at[k], after) if k < core_end else after
                if b > a:
                    stretch(row, paint[(k - core_start[r]) & 1], a * bits, b * bits)
                    a = b
                if k < core_end and core_at[k] <= a:
                    k += 1
