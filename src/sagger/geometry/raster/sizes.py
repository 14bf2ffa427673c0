"""How many drops of each size a packed image holds."""

from __future__ import annotations

import numpy as np
from numpy import ndarray

from sagger.geometry.raster.kernel import kernel


def sizes(packed: ndarray, bits: int) -> tuple[int, ...]:
    """Drops of level 1 to 2**bits - 1 in an image uint8 (rows, bytes), levels from the highest bit down."""
    flat = np.ascontiguousarray(packed).reshape(-1)
    whole = flat.size // 8 * 8
    bytes_seen = np.zeros(256, np.int64)
    _count_bytes(flat[:whole].view(np.uint64), bytes_seen)
    bytes_seen += np.bincount(flat[whole:], minlength=256)
    places = np.unpackbits(np.arange(256, dtype=np.uint8)[:, None], axis=1).reshape(256, 8 // bits, bits)
    levels = places @ (1 << np.arange(bits)[::-1])
    return tuple(int(bytes_seen @ (levels == level).sum(axis=1)) for level in range(1, 2**bits))


@kernel
def _count_bytes(words, seen):  # type: ignore[no-untyped-def]
    """Add how often each byte occurs in words; most words of a layer are blank."""
    for i in range(words.size):
        w = words[i]
        if w == 0:
            seen[0] += 8
            continue
        for _ in range(8):
            seen[np.int64(w & np.uint64(255))] += 1
            w >>= np.uint64(8)
