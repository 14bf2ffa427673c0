"""Pictures are made in processes of their own, so that the bench goes on answering meanwhile.

One process holds the layers that are looked at, another the shapes; a third, begun when it is first needed,
tries programmes of oven and furnace. All end with the one that asked.
"""

from __future__ import annotations

import asyncio
import multiprocessing
import os
import threading
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from typing import Any

from sagger.errors import LedgerError

CREWS = ("layers", "shapes")  # those that begin with the bench
TRIES = "tries"
_crews: dict[str, ProcessPoolExecutor] = {}


async def ask(crew: str, what: str, *given: object) -> bytes:
    """What the function `what` of `sagger.desk.paint` returns, called by one of `CREWS` or by `TRIES`.

    Raises
    ------
    SaggerError
        As that function does; `LedgerError` also if the process was ended twice over it.
    """
    for _ in range(2):
        try:
            return await asyncio.wrap_future(_crew(crew).submit(_do, what, *given))
        except BrokenProcessPool:
            _crews.pop(crew, None)
    raise LedgerError("the process that makes this picture was ended; is there too little memory?")


def hint(crew: str, what: str, *given: object) -> None:
    """Have something made that will be asked for soon; what comes of it shows then."""
    try:
        _crew(crew).submit(_do, what, *given)
    except BrokenProcessPool:
        _crews.pop(crew, None)


def begin() -> None:
    """Start both crews, so that the first picture does not wait for them."""
    for crew in CREWS:
        hint(crew, "warm")


def end() -> None:
    """End both crews."""
    while _crews:
        _, crew = _crews.popitem()
        crew.shutdown(wait=False, cancel_futures=True)


def _crew(name: str) -> ProcessPoolExecutor:
    if name not in _crews:
        # Not forked: the server has threads. Its environment, and with it the shop, is handed on.
        way = multiprocessing.get_context("spawn")
        _crews[name] = ProcessPoolExecutor(1, way, initializer=_with_parent)
    return _crews[name]


def _with_parent() -> None:
    """End this process when the one that started it is gone, however it went."""
    parent = multiprocessing.parent_process()
    assert parent is not None

    def watch(of: Any = parent) -> None:
        of.join()
        os._exit(0)

    threading.Thread(target=watch, daemon=True).start()


def _do(what: str, *given: object) -> bytes:
    from sagger.desk import paint

    made: bytes = getattr(paint, what)(*given)
    return made
