"""Worker processes render pictures, so that the bench goes on answering meanwhile.

One process holds the layers that are looked at, another the shapes; a third, begun when it is first needed,
tries programmes of oven and furnace, and a fourth reads parts whose faces are clicked. All end with the one
that asked.
"""

from __future__ import annotations

import asyncio
import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from typing import Literal, ParamSpec

from sagger.desk.pictures import render
from sagger.errors import LedgerError

P = ParamSpec("P")
Crew = Literal["layers", "shapes", "tries", "faces"]
CREWS: tuple[Crew, ...] = ("layers", "shapes")  # those that begin with the bench
_crews: dict[Crew, ProcessPoolExecutor] = {}


async def ask(crew: Crew, function: Callable[P, bytes], /, *given: P.args, **named: P.kwargs) -> bytes:
    """What a function of `render` returns, called in the process of a crew.

    Raises
    ------
    SaggerError
        As that function does; `LedgerError` also if the process was ended twice over it.
    """
    for _ in range(2):
        try:
            return await asyncio.wrap_future(_crew(crew).submit(function, *given, **named))
        except BrokenProcessPool:
            _crews.pop(crew, None)
    raise LedgerError("the process that makes this picture was ended; is there too little memory?")


def hint(crew: Crew, function: Callable[P, bytes], /, *given: P.args, **named: P.kwargs) -> None:
    """Have something made that will be asked for soon; what comes of it shows then."""
    try:
        _crew(crew).submit(function, *given, **named)
    except BrokenProcessPool:
        _crews.pop(crew, None)


def begin() -> None:
    """Start both crews, so that the first picture does not wait for them."""
    for crew in CREWS:
        hint(crew, render.warm)


def end() -> None:
    """End both crews."""
    while _crews:
        _, crew = _crews.popitem()
        crew.shutdown(wait=False, cancel_futures=True)


def _crew(name: Crew) -> ProcessPoolExecutor:
    if name not in _crews:
        # Not forked: the server has threads. Its environment, and with it the shop, is handed on.
        way = multiprocessing.get_context("spawn")
        _crews[name] = ProcessPoolExecutor(1, way, initializer=_with_parent)
        with _deaf_to_interrupts():
            _crews[name].submit(int)  # the process begins with the first call
    return _crews[name]


@contextmanager
def _deaf_to_interrupts() -> Iterator[None]:
    """Within it a new process is born deaf to Ctrl-C, also while it still imports; the bench ends it."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


def _with_parent() -> None:
    """End this process when the one that started it is gone, however it went; Ctrl-C is for that one."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()
    assert parent is not None

    def watch() -> None:
        parent.join()
        os._exit(0)

    threading.Thread(target=watch, daemon=True).start()
