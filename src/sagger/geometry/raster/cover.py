"""Grey levels from the exact share of each drop's cell that a section covers.

Each segment adds to the cells it passes the height it spans there and the area to its right; summed along a
row these give the exact cover. Where outlines of two shells share a cell the cover is held at one.

Source: signed-area accumulation, as used for the outlines of letters; derivation: Barrett 2015,
nothings.org/gamedev/rasterize.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.compiled import inner, kernel
from sagger.geometry.raster import halftone
from sagger.geometry.raster.cells import OutlineCells, cells_of, summed
from sagger.geometry.raster.drawing import DropLattice, Scratch, Section
from sagger.geometry.raster.lanes import LANES, ONE, SHIFT, ZERO, in_order
from sagger.geometry.raster.runs import Runs

_EIGHT, _SEVEN = np.uint64(3), np.uint64(7)  # bits in a byte, as a shift and as a mask


class Tone(NamedTuple):
    """How cover becomes drops."""

    bits: int  # 1, 2 or 4: levels 0 to 2**bits - 1, of evenly growing volume
    skin: float  # saturation, of the largest drop [-]
    core: float
    layer: int  # shifts the mask that makes saturations between two levels


def levels(cells: OutlineCells, core: Runs, tone: Tone, lattice: DropLattice, scratch: Scratch) -> ndarray:
    """Packed levels uint8 (rows, ceil(columns * bits / 8)): cover times saturation, 0 = no drop.

    Parameters
    ----------
    cells : Cells
        From `cells_of` or `fine.cells_of_runs`.
    core : Runs
        Where the core's saturation holds; blank if nowhere.
    tone : Tone
        How cover becomes drops.
    lattice : Lattice
        Where drops can fall.
    scratch : Scratch
        Buffers of this thread.
    """
    packed = scratch.image(lattice.rows, (lattice.columns * tone.bits + 7) // 8)
    noise = np.ascontiguousarray((halftone.tile() + 0.5) / halftone.SIDE**2)
    shares = np.array([tone.skin, tone.core])
    right, up = halftone.shift(tone.layer)
    noise = np.ascontiguousarray(np.roll(noise, (-up, -right), axis=(0, 1)))
    paints = np.stack([_painted(share, tone.bits, noise, packed.shape[1]) for share in shares])
    # None, not False: the kernel is then compiled without a look at every stretch.
    along = True if cells.edges_along else None
    _fill(cells, (core.start, core.at), (paints, noise, shares), (tone.bits, lattice.columns, along), packed)
    return packed


def covered(section: Section, lattice: DropLattice, scratch: Scratch) -> ndarray:
    """Share of each cell that the section covers, float64 (rows, columns); for small layers."""
    out = np.zeros((lattice.rows, lattice.columns))
    _spread(cells_of(section, lattice, scratch), out)
    return out


def _painted(share: float, bits: int, noise: ndarray, width: int) -> ndarray:
    """Packed rows of a place that is wholly covered, repeated along x; level steps chosen by the mask."""
    exact = share * (2**bits - 1)
    level = np.floor(exact + np.where(abs(exact - round(exact)) < 1e-9, 0.5, noise)).astype(np.uint8)
    places = np.unpackbits(level[..., None], axis=2)[..., 8 - bits :]
    packed = np.packbits(places.reshape(len(level), -1), axis=1)
    return np.tile(packed, (1, width // packed.shape[1] + 1))[:, :width]


def volume(packed: ndarray, bits: int) -> int:
    """Largest drops that the levels of a packed image add up to, to the nearest."""
    flat = packed.reshape(-1)[:]
    flat.flags.writeable = False  # whatever it was: kernels are compiled for the one and for the other
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
def _spread(cells, out):  # type: ignore[no-untyped-def]
    rows, columns = out.shape
    for block in range(cells.first.size - 1):
        at, _ = in_order(cells.first, cells.held, block, cells.keys, cells.last)
        for r in range(np.uint64(block) << SHIFT, min(np.uint64(block + 1) << SHIFT, np.uint64(rows))):
            begin, total, slot = at + (r & (LANES - ONE)), 0.0, ZERO
            while slot < np.uint64(cells.held[r]):
                c = cells.keys[begin + (slot << SHIFT)] >> cells.shift
                here, total, slot = summed(cells, r, begin, slot, total)
                if c < columns:
                    out[r, c] = here
                more = slot < np.uint64(cells.held[r])
                after = cells.keys[begin + (slot << SHIFT)] >> cells.shift if more else columns
                if abs(total) > 1e-4:
                    out[r, c + 1 : min(after, columns)] = min(1.0, abs(total))


@kernel
def _fill(cells, core, paint, image, packed):  # type: ignore[no-untyped-def]
    """Write the level of every drop: edge cells one by one, stretches between them from the painted rows.

    `paint` holds painted rows, noise and shares; `image` bits, columns, and whether slopes lie along rows.
    """
    paints, noise, shares = paint
    for block in range(cells.first.size - 1):
        at, _ = in_order(cells.first, cells.held, block, cells.keys, cells.last)
        rows = min(np.uint64(block + 1) << SHIFT, np.uint64(packed.shape[0]))
        for r in range(np.uint64(block) << SHIFT, rows):
            side = r % np.uint64(noise.shape[0])
            of_row = paints[:, side], noise[side], shares
            _fill_row(cells, (r, at + (r & (LANES - ONE))), core, of_row, image, packed[r])


@kernel
def _fill_row(cells, place, core, paint, image, row):  # type: ignore[no-untyped-def]
    """One row; `byte` and `value` are the last byte written, to which the next drop may belong."""
    r, begin = place
    core_start, core_at = core
    painted, noise, shares = paint
    bits, columns, along = np.uint64(image[0]), image[1], image[2]
    steps, held = (1 << image[0]) - 1, np.uint64(cells.held[r])
    none, k, core_end = np.uint64(core_start[r]), np.uint64(core_start[r]), np.uint64(core_start[r + ONE])
    total, slot, byte, value = 0.0, ZERO, ZERO, ZERO
    while slot < held:
        c = np.int64(cells.keys[begin + (slot << SHIFT)] >> cells.shift)
        here, total, slot = summed(cells, r, begin, slot, total)
        while k < core_end and core_at[k] <= c:
            k += ONE
        inside = (k - none) & ONE
        if c < columns:
            bump = 0.5 if inside == ZERO else noise[np.uint64(c) % np.uint64(noise.size)]
            level = min(np.int64(here * shares[inside] * steps + bump), steps)
            byte, value = _drop(row, np.uint64(c) * bits, level, bits, byte, value)
        a = c + 1
        after = np.int64(cells.keys[begin + (slot << SHIFT)] >> cells.shift) if slot < held else columns
        after = min(after, columns)
        if abs(total) < 1e-4:  # outside, but for rounding
            continue
        if along is not None and abs(total) < 1 - 1e-4:
            ends, stretch, last = (core_at, none, k, core_end), (a, after, abs(total)), (byte, value)
            k, byte, value = _partly(row, ends, stretch, paint, image[0], last)
            continue
        while a < after:
            b = min(np.int64(core_at[k]), after) if k < core_end else after
            if b > a:
                source = painted[(k - none) & ONE]
                byte, value = _stretch(row, source, np.uint64(a) * bits, np.uint64(b) * bits, byte, value)
                a = b
            if k < core_end and core_at[k] <= a:
                k += ONE


@inner
def _partly(row, ends, stretch, paint, levels, last):  # type: ignore[no-untyped-def]
    """Drops of a stretch covered by one share all along; the core's next end and the last byte."""
    _, noise, shares = paint
    core_at, none, k, core_end = ends
    first, after, here = stretch
    byte, value = last
    steps, bits = (1 << levels) - 1, np.uint64(levels)
    for a in range(first, after):
        while k < core_end and core_at[k] <= a:
            k += ONE
        inside = (k - none) & ONE
        bump = 0.5 if inside == ZERO else noise[np.uint64(a) % np.uint64(noise.size)]
        level = min(np.int64(here * shares[inside] * steps + bump), steps)
        byte, value = _drop(row, np.uint64(a) * bits, level, bits, byte, value)
    return k, byte, value


@inner
def _drop(row, bit, level, bits, byte, value):  # type: ignore[no-untyped-def]
    """Set the level of one drop; returns the last byte written and its value."""
    value = (value if byte == bit >> _EIGHT else ZERO) | np.uint64(level) << (
        np.uint64(8) - bits - (bit & _SEVEN)
    )
    row[bit >> _EIGHT] = value
    return bit >> _EIGHT, value


@inner
def _stretch(row, source, a, b, byte, value):  # type: ignore[no-untyped-def]
    """Copy the bits a up to b of a painted row; returns the last byte written and its value."""
    first, last = a >> _EIGHT, b >> _EIGHT
    head = np.uint64(0xFF) >> (a & _SEVEN)
    tail = (np.uint64(0xFF00) >> (b & _SEVEN)) & np.uint64(0xFF)
    value = value if byte == first else ZERO
    if first == last:
        value |= head & tail & np.uint64(source[first])
        row[first] = value
        return first, value
    row[first] = value | head & np.uint64(source[first])
    for n in range(first + ONE, last):
        row[n] = source[n]
    if tail == ZERO:
        return last, ZERO
    value = tail & np.uint64(source[last])
    row[last] = value
    return last, value
