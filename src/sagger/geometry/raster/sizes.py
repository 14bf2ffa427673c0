"""How many drops of each size a packed image holds."""

from __future__ import annotations

import numpy as np
from numpy import ndarray

from sagger.compiled import kernel

_AT_ONCE = 4096  # words that stay in the nearest cache while each size is looked for


def sizes(packed: ndarray, bits: int) -> tuple[int, ...]:
    """Drops of level 1 to 2**bits - 1 in an image uint8 (rows, bytes), levels from the highest bit down."""
    flat = np.ascontiguousarray(packed).reshape(-1)[:]
    flat.flags.writeable = False  # whatever it was: kernels are compiled for the one and for the other
    whole = flat.size // 8 * 8
    rest = np.frombuffer(flat[whole:].tobytes().ljust(8, b"\0"), np.uint64)
    seen = np.zeros(2**bits, np.int64)
    for words in (flat[:whole].view(np.uint64), rest):
        for first in range(0, words.size, _AT_ONCE):
            _count(words[first : first + _AT_ONCE], bits, seen)
    return tuple(int(count) for count in seen[1:])


@kernel
def _count(words, bits, seen):  # type: ignore[no-untyped-def]
    """Add how often each level but 0 occurs: fields that differ nowhere from it, counted by halves."""
    ones = np.uint64(0xFFFFFFFFFFFFFFFF) // np.uint64((1 << bits) - 1)  # the lowest bit of each field
    first, second = np.uint64(bits >> 1), np.uint64(bits >> 2)
    twos, fours = np.uint64(0x5555555555555555), np.uint64(0x3333333333333333)
    eights, sums = np.uint64(0x0F0F0F0F0F0F0F0F), np.uint64(0x0101010101010101)
    for level in range(1, seen.size):
        total, pattern = np.uint64(0), ones * np.uint64(level)
        for n in range(np.uint64(words.size)):
            w = words[n] ^ pattern
            w |= w >> first
            w = (w | w >> second) & ones ^ ones
            w = w - (w >> np.uint64(1) & twos)
            w = (w & fours) + (w >> np.uint64(2) & fours)
            total += ((w + (w >> np.uint64(4)) & eights) * sums) >> np.uint64(56)
        seen[level] += np.int64(total)
