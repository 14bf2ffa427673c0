"""On how many threads the parallel loops of this room run."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import numba

THREADS = 2  # more pay little: the work is bound by memory


@contextmanager
def threads(count: int = THREADS) -> Iterator[None]:
    """Parallel loops inside run on this many threads, or on as many as there are."""
    before = numba.get_num_threads()
    numba.set_num_threads(min(count, before))
    try:
        yield
    finally:
        numba.set_num_threads(before)
