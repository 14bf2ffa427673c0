"""Sets of drops combined row by row, without a bitmap."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from sagger.compiled import kernel
from sagger.errors import InputError
from sagger.geometry.raster.runs import Runs

_AND, _OR, _WITHOUT = 0b1000, 0b1110, 0b0010  # truth tables: bit (2 b + a) says whether the drop stays


def both(a: Runs, b: Runs) -> Runs:
    """Drops in `a` and in `b`."""
    return _combined(a, b, _AND)


def either(a: Runs, b: Runs) -> Runs:
    """Drops in `a` or in `b`."""
    return _combined(a, b, _OR)


def without(a: Runs, b: Runs) -> Runs:
    """Drops in `a` that are not in `b`."""
    return _combined(a, b, _WITHOUT)


def eroded(drops: Runs, radius_mm: float, pitch_mm: tuple[float, float]) -> Runs:
    """Drops farther than `radius_mm` from every place without a drop, between middles.

    Parameters
    ----------
    drops : Runs
        The layer; what lies outside it counts as empty.
    radius_mm : float
        Depth of the rim that is taken away [mm].
    pitch_mm : tuple of 2 float
        Spacing of drops along x and y [mm].
    """
    reach = math.floor(radius_mm / pitch_mm[1] + 1e-9)
    depth = np.arange(reach + 1) * pitch_mm[1]
    half = np.floor(np.sqrt(np.maximum(radius_mm**2 - depth**2, 0)) / pitch_mm[0] + 1e-9).astype(np.int32)
    widest = int(np.diff(drops.start).max(initial=0)) + 2
    start = np.empty(drops.rows + 1, np.int32)
    at = np.empty(drops.at.size + drops.rows * 8, np.int32)
    used = _erode(drops.start, drops.at, half, start, at, np.empty((2, 64 * widest), np.int32))
    if used < 0:  # rows of many small holes can split spans further than there was room for
        at = np.empty(64 * widest * drops.rows, np.int32)
        used = _erode(drops.start, drops.at, half, start, at, np.empty((2, 64 * widest), np.int32))
    return Runs(columns=drops.columns, rows=drops.rows, start=start, at=at[:used])


def held_through(layers: Sequence[Runs], reach: int) -> list[Runs]:
    """For each layer with `reach` neighbours on both sides: the drops it shares with all of them.

    Source: running minimum in three operations per element, whatever the window (van Herk 1992, Gil & Werman
    1993; from memory).
    """
    window = 2 * reach + 1
    count = len(layers) - 2 * reach
    if reach == 0 or count < 1:
        return list(layers[:count]) if count > 0 else []
    out = []
    for first in range(0, count, window):
        block = layers[first : first + window]
        after = layers[first + window : first + 2 * window - 1]
        back = [block[-1]]
        for layer in reversed(block[:-1]):
            back.append(both(layer, back[-1]))
        back.reverse()
        ahead: Runs | None = None
        for place in range(min(window, count - first)):
            if place > 0:
                ahead = after[place - 1] if ahead is None else both(ahead, after[place - 1])
            out.append(back[place] if ahead is None else both(back[place], ahead))
    return out


def _combined(a: Runs, b: Runs, keep: int) -> Runs:
    if (a.columns, a.rows) != (b.columns, b.rows):
        raise InputError("layers of one size are needed", value=((a.columns, a.rows), (b.columns, b.rows)))
    start = np.empty(a.rows + 1, np.int32)
    at = np.empty(a.at.size + b.at.size, np.int32)
    used = _merge((a.start, a.at), (b.start, b.at), keep, start, at)
    return Runs(columns=a.columns, rows=a.rows, start=start, at=at[:used])


@kernel
def _merge(one, other, keep, start, at):  # type: ignore[no-untyped-def]
    """Walk the transitions of both in order; the truth table `keep` says what is inside."""
    start_a, at_a = one
    start_b, at_b = other
    n = 0
    start[0] = 0
    for r in range(start.size - 1):
        i, last_i, j, last_j = start_a[r], start_a[r + 1], start_b[r], start_b[r + 1]
        state, inside = 0, 0
        while i < last_i or j < last_j:
            x = at_a[i] if i < last_i else np.int32(2**31 - 1)
            y = at_b[j] if j < last_j else np.int32(2**31 - 1)
            column = min(x, y)
            if x == column:
                state ^= 1
                i += 1
            if y == column:
                state ^= 2
                j += 1
            now = (keep >> state) & 1
            if now != inside:
                at[n] = column
                n += 1
                inside = now
        start[r + 1] = n
    return n


@kernel
def _erode(start_in, at_in, half, start, at, line):  # type: ignore[no-untyped-def]
    """Row r keeps what all rows within reach keep once their spans lost half[|dy|] columns at both ends.

    Returns how many transitions were written, or -1 if they did not fit.
    """
    rows, reach = start.size - 1, half.size - 1
    n = 0
    start[0] = 0
    whole = np.array([0, 2**31 - 1], np.int32)
    for r in range(rows):
        used, now = 0, 0
        if reach <= r < rows - reach:
            used = _narrowed(whole, 2, (at_in, start_in[r], start_in[r + 1]), half[0], line[0])
            for d in range(2, 2 * reach + 2):  # rows r - 1, r + 1, r - 2, r + 2, …
                if used <= 0:
                    break
                q = r - d // 2 if d % 2 == 0 else r + d // 2
                row = at_in, start_in[q], start_in[q + 1]
                used = _narrowed(line[now], used, row, half[d // 2], line[1 - now])
                now = 1 - now
        if used < 0 or n + used > at.size:
            return -1
        for i in range(used):
            at[n + i] = line[now, i]
        n += used
        start[r + 1] = n
    return n


@kernel
def _narrowed(spans, used, row, half, out):  # type: ignore[no-untyped-def]
    """Spans cut down to those of another row shortened by `half` at both ends; how many numbers remain."""
    at, first, last = row
    n, j = 0, first
    for i in range(0, used, 2):
        low, high = spans[i], spans[i + 1]
        while j < last and at[j + 1] - half <= low:
            j += 2
        k = j
        while k < last and at[k] + half < high:
            a, b = max(low, at[k] + half), min(high, at[k + 1] - half)
            if b > a:
                if n + 2 > out.size:
                    return -1
                out[n], out[n + 1] = a, b
                n += 2
            k += 2
    return n


def empty_like(drops: Runs) -> Runs:
    """A layer of the same size without drops."""
    return Runs(
        columns=drops.columns,
        rows=drops.rows,
        start=np.zeros(drops.rows + 1, np.int32),
        at=np.empty(0, np.int32),
    )


def union(layers: Sequence[Runs]) -> Runs:
    """Drops in any of the layers, of which there is at least one."""
    whole = layers[0]
    for layer in layers[1:]:
        whole = either(whole, layer)
    return whole
