"""Layers as drawn: one at any height, or all in order by several threads."""

from __future__ import annotations

import os
import queue
from collections import deque
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from typing import TypeVar

from sagger.errors import StopError
from sagger.geometry import raster
from sagger.goods.stack import Stack, Tally
from sagger.stations.layers.band import Sheet, band, reach
from sagger.stations.layers.counting import Count, counted, tally
from sagger.stations.layers.nozzles import mended
from sagger.stations.layers.press import ReadyStack, press
from sagger.tick import Tick, silent

R = TypeVar("R")
Made = list[tuple[int, Count, R]]


def sheet(press: ReadyStack, k: int, *, scratch: raster.Scratch | None = None) -> Sheet:
    """Layer k as drawn, without drawing any other but those that its skin looks at.

    Parameters
    ----------
    press : Press
        From `press(stack)`.
    k : int
        Layer, from 0.
    scratch : Scratch, optional
        Buffers to use again; one per thread.

    Raises
    ------
    StopError
        If the layer does not exist, or a broken mesh would need more mending than the style allows.
    """
    if not 0 <= k < press.stack.count:
        raise StopError(f"there is no layer {k}: the stack has layers 0 to {press.stack.count - 1}")
    ((_, drawn),) = band(press, k, k + 1, scratch or raster.Scratch())
    return mended(drawn, press.stack.missed)[0]


def drawn(
    stack: Stack,
    finish: Callable[[int, Sheet], R],
    *,
    first: int = 0,
    threads: int | None = None,
    tick: Tick = silent,
) -> Iterator[tuple[int, Count, R]]:
    """Draw the layers from `first` on and yield them in order.

    Parameters
    ----------
    stack : Stack
        The recipe.
    finish : callable
        Called with layer number and sheet in the thread that drew it, for instance to encode it.
    first : int
        Layer to begin with: a job that was stopped resumes here.
    threads : int, optional
        How many threads; one per core if not given. The result is the same for any number.

    Yields
    ------
    tuple of int, Count, R
        Layer number, what was counted, and what `finish` returned. What is in memory does not grow with the
        number of layers.

    Raises
    ------
    StopError
        If a broken mesh would need more mending than the style allows.
    """
    ready = press(stack)
    crew = threads or os.cpu_count() or 1
    # A band costs its neighbours above and below once more; long bands cost memory.
    length = max(1, 2 * reach(ready))
    bands = [(at, min(at + length, stack.count)) for at in range(first, stack.count, length)]
    scratches: queue.SimpleQueue[raster.Scratch] = queue.SimpleQueue()
    for _ in range(crew):
        scratches.put(raster.Scratch())

    def work(begin: int, end: int) -> Made[R]:
        scratch = scratches.get()
        try:
            made = []
            for k, wanted in band(ready, begin, end, scratch):
                printed, lost = mended(wanted, stack.missed)
                made.append((k, counted(wanted, printed, lost, k), finish(k, printed)))
            return made
        finally:
            scratches.put(scratch)

    yield from _in_order(work, bands, crew, stack, tick)


def _in_order(
    work: Callable[[int, int], Made[R]], bands: list[tuple[int, int]], crew: int, stack: Stack, tick: Tick
) -> Iterator[tuple[int, Count, R]]:
    """Results in order, with twice as many bands as threads under way."""
    pool = ThreadPoolExecutor(crew, thread_name_prefix="layers")
    waiting: deque[Future[Made[R]]] = deque()
    ahead = 0
    try:
        for begin, _ in bands:
            while len(waiting) < 2 * crew and ahead < len(bands):
                waiting.append(pool.submit(work, *bands[ahead]))
                ahead += 1
            tick.say("drawing layers", begin, stack.count)
            for made in waiting.popleft().result():
                yield made
                tick.say("drawing layers", made[0] + 1, stack.count)
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def count(stack: Stack, *, threads: int | None = None, tick: Tick = silent) -> Tally:
    """What drawing every layer finds, without keeping any."""
    return tally(made for _, made, _ in drawn(stack, lambda _k, _sheet: None, threads=threads, tick=tick))
