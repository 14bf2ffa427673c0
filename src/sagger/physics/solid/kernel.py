"""How this room compiles its loops, and on how many threads they run."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, TypeVar

# Threads that wait must sleep: on a shared machine, spinning ones are fifteen times slower. Read when the
# first parallel loop of the process starts.
os.environ.setdefault("OMP_WAIT_POLICY", "passive")
os.environ.setdefault("GOMP_SPINCOUNT", "0")

import numba

if TYPE_CHECKING:
    from collections.abc import Callable

    F = TypeVar("F", bound=Callable[..., object])

kernel = numba.njit(cache=True, nogil=True, fastmath=True, error_model="numpy")
inlined = numba.njit(cache=True, nogil=True, fastmath=True, error_model="numpy", forceinline=True)
exact = numba.njit(cache=True, nogil=True, error_model="numpy")
shared = numba.njit(cache=True, nogil=True, fastmath=True, error_model="numpy", parallel=True)
prange = numba.prange
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
