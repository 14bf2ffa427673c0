"""How loops are compiled, each when it is first called, and what tells that it is."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, TypeVar

# Threads that wait must sleep: on a shared machine, spinning ones are fifteen times slower. Read when the
# first parallel loop of the process starts.
os.environ.setdefault("OMP_WAIT_POLICY", "passive")
os.environ.setdefault("GOMP_SPINCOUNT", "0")

import numba
from numba.core import event

from sagger.compiled.code import Code

Function = TypeVar("Function", bound=Callable[..., Any])
DOING = "compiling, once on this machine"
prange = numba.prange


def _kept(**options: Any) -> Callable[[Function], Function]:
    """A decorator that compiles a loop when it is first called, and keeps the code."""
    options = {"nogil": True, "no_cfunc_wrapper": True} | options  # no kernel is called from C
    compiler: Any = numba.njit(**options)

    def decorate(function: Function) -> Function:
        made: Function = compiler(function)
        vars(made)["_cache"] = Code(function)  # type: ignore[no-untyped-call]
        return made

    return decorate


kernel = _kept(error_model="numpy")  # no fastmath: the same numbers give the same bits everywhere
checked = _kept()  # division by zero raises
inner = _kept(error_model="numpy", inline="always")
# makes no arrays, so that handing on many of them costs nothing
lean = _kept(error_model="numpy", _nrt=False)
fast = _kept(fastmath=True, error_model="numpy")
fast_inner = _kept(fastmath=True, error_model="numpy", forceinline=True)
fast_parallel = _kept(fastmath=True, error_model="numpy", parallel=True)


@contextmanager
def announced(say: Callable[[str], None]) -> Iterator[None]:
    """Within it, `say` hears each time a kernel is compiled that nobody has compiled on this machine."""
    with event.install_listener("numba:compile", _Announcer(say)):
        yield


class _Announcer(event.Listener):
    """Speaks of the kernel that was called, not of those that it calls."""

    def __init__(self, say: Callable[[str], None]):
        self._say, self._depth = say, 0

    def on_start(self, event: Any) -> None:
        self._depth += 1
        if self._depth == 1:
            self._say(DOING)

    def on_end(self, event: Any) -> None:
        self._depth -= 1
