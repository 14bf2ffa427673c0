"""Run coders for TIFF: ITU-T T.6 (CCITT group 4) straight from spans, and PackBits of packed rows.

Sources: ITU-T Recommendations T.4 and T.6, code tables in t6.toml; TIFF Revision 6.0 (1992), section 9.
"""

from __future__ import annotations

import itertools
import tomllib
from pathlib import Path

import numpy as np
from numpy import ndarray

from sagger.compiled import inner, kernel
from sagger.geometry.raster.runs import Runs

_CODES = {
    name: codes.split()
    for name, codes in tomllib.loads(Path(__file__).with_name("t6.toml").read_text("utf-8")).items()
}
_LONGEST = 2560  # columns in the longest make-up code
# Unsigned, because an index that cannot be negative is not looked at for being so.
_NONE, _ONE, _TWO, _FOUR = (np.uint64(n) for n in (0, 1, 2, 4))


def _word(code: str) -> int:
    return int(code, 2) << 8 | len(code)


def _run_words() -> ndarray:
    """Code and length of every run below 2560: make-up and terminating code in one, white then black."""
    words = np.zeros((2, _LONGEST), np.int64)
    for colour, name in enumerate(("white", "black")):
        ends, ups = _CODES[name], ["", *_CODES[f"{name}_up"], *_CODES["both_up"]]
        for run in range(_LONGEST):
            words[colour, run] = _word(ups[run // 64] + ends[run % 64])
    return words


def _four_words() -> ndarray:
    """Code and length of four vertical modes in a row, by their shifts of -3 to 3 as digits of base 7."""
    words = np.zeros(7**4, np.int64)
    for place, shifts in enumerate(itertools.product(range(7), repeat=4)):
        words[place] = _word("".join(_CODES["vertical"][shift] for shift in shifts))
    return words


_RUN = _run_words()
_UP_2560 = _word(_CODES["both_up"][-1])
_V = np.array([_word(code) for code in _CODES["vertical"]], np.int64)
_QUADS = _four_words()
_PASS, _HORIZONTAL, _END = _word("0001"), _word("001"), _word("000000000001")


def g4(drops: Runs, first: int, last: int) -> bytes:
    """Rows `first` up to `last` as one T.6 block with its end mark; drops are the black runs."""
    held = int(drops.start[last] - drops.start[first])
    most = 8 * held + (last - first) * (2 * (drops.columns // _LONGEST) + 8) + 16
    buffer = np.empty(most // 4 + 2, np.uint32)
    size = _encode(drops.start, drops.at, drops.columns, first, last, buffer)
    return buffer.view(np.uint8)[:size].tobytes()


def packbits(rows: ndarray) -> bytes:
    """Packed rows uint8 (rows, bytes), each coded for itself as runs and literal stretches of bytes."""
    height, width = rows.shape
    buffer = np.empty(height * (width + width // 64 + 2), np.uint8)
    rows = np.ascontiguousarray(rows)[:]
    rows.flags.writeable = False  # whatever it was: kernels are compiled for the one and for the other
    size = _pack(rows, buffer)
    return buffer[:size].tobytes()


@inner
def _put(buffer, at, bits, held, word):  # type: ignore[no-untyped-def]
    """Append a code of up to 32 bits; a group of 32 is written always, and kept once it is full."""
    bits = (bits << (word & 255)) | (word >> 8)
    held += word & 255
    out = bits >> (held & 31)
    buffer[at] = (out & 255) << 24 | (out & 0xFF00) << 8 | (out >> 8) & 0xFF00 | (out >> 24) & 255
    return at + np.uint64(held >> 5), bits, held & 31


@inner
def _put_run(buffer, at, bits, held, colour, run):  # type: ignore[no-untyped-def]
    while run >= _LONGEST:
        at, bits, held = _put(buffer, at, bits, held, _UP_2560)
        run -= _LONGEST
    return _put(buffer, at, bits, held, _RUN[colour, run])


@inner
def _four(edges, i, j):  # type: ignore[no-untyped-def]
    """Place in `_QUADS` of edges i to i + 3 if each is coded by its shift from edges j to j + 3, else -1.

    That is so where each shift is three at most, the reference edge after it lies beyond the edge coded (no
    pass, and the next reference is the next edge), and the one before it does not.
    """
    code, near = 0, True
    for n in range(_FOUR):
        shift = edges[i + n] - edges[j + n]
        near &= (
            (abs(shift) <= 3) & (edges[j + n - _ONE] <= edges[i + n]) & (edges[i + n] < edges[j + n + _ONE])
        )
        code = code * 7 + shift + 3
    return code if near else -1


@kernel
def _encode(start, edges, columns, first, last, buffer):  # type: ignore[no-untyped-def]
    """T.6 coding; a0, a1, a2, b1, b2 and the modes are those of the Recommendation. Returns bytes written."""
    at, bits, held = _NONE, 0, 0
    low = high = np.uint64(start[first])  # edges of the row above: none at first, all white
    for row in range(first, last):
        i, end = np.uint64(start[row]), np.uint64(start[row + 1])
        j, colour, a0 = low, 0, -1
        while a0 < columns:
            while j < high and edges[j] <= a0:  # edges of one colour are every second one
                j += _TWO
            while i + _FOUR <= end and low < j and j + _FOUR < high:
                four = _four(edges, i, j)
                if four < 0:
                    break
                at, bits, held = _put(buffer, at, bits, held, _QUADS[four])
                i, j, a0 = i + _FOUR, j + _FOUR, edges[i + _FOUR - _ONE]
            a1 = edges[i] if i < end else columns
            b1 = edges[j] if j < high else columns
            b2 = edges[j + _ONE] if j + _ONE < high else columns
            if b2 < a1:
                at, bits, held = _put(buffer, at, bits, held, _PASS)
                a0 = b2
                continue
            if -3 <= a1 - b1 <= 3:
                at, bits, held = _put(buffer, at, bits, held, _V[a1 - b1 + 3])
                a0, colour = a1, colour ^ 1
                i += _ONE
                j = j - _ONE if j > low else j + _ONE
                continue
            a2 = edges[i + _ONE] if i + _ONE < end else columns
            at, bits, held = _put(buffer, at, bits, held, _HORIZONTAL)
            at, bits, held = _put_run(buffer, at, bits, held, colour, a1 - max(a0, 0))
            at, bits, held = _put_run(buffer, at, bits, held, colour ^ 1, a2 - a1)
            a0 = a2
            i += _TWO
        low, high = np.uint64(start[row]), end
    for _ in range(2):
        at, bits, held = _put(buffer, at, bits, held, _END)
    size = 4 * np.int64(at) + (held + 7) // 8
    _put(buffer, at, bits, held, 32 - held)  # the rest, filled up with zeros
    return size


@kernel
def _pack(rows, buffer):  # type: ignore[no-untyped-def]
    """PackBits of each row; a run is worth coding from three equal bytes on. Returns bytes written."""
    at = 0
    width = rows.shape[1]
    for r in range(rows.shape[0]):
        row = rows[r]
        a, literal = 0, -1  # place of the header of the open literal stretch, if any
        while a < width:
            b = a + 1
            while b < width and row[b] == row[a]:
                b += 1
            run = b - a
            if run >= 3:
                literal = -1
                while run > 0:
                    part = min(run, 128)
                    buffer[at] = np.uint8((257 - part) & 255)
                    buffer[at + 1] = row[a]
                    at += 2
                    run -= part
            else:
                for q in range(a, b):
                    if literal < 0 or buffer[literal] == 127:
                        literal = at
                        buffer[at] = 0
                        at += 1
                    else:
                        buffer[literal] += 1
                    buffer[at] = row[q]
                    at += 1
            a = b
    return at
