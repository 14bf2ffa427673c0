"""Layers as drawn: one at any height, or all in order by several threads."""

from __future__ import annotations

import hashlib
import os
import queue
from collections import deque
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from typing import TypeVar

import numpy as np

from sagger.errors import StopError
from sagger.geometry import raster
from sagger.goods.good import good
from sagger.goods.stack import Stack, Tally
from sagger.stations.layers.press import Press, phase, plane, press
from sagger.tick import Tick, silent

R = TypeVar("R")


@good
class Sheet:
    """One layer as drawn."""

    runs: raster.Runs
    drops: int
    section_mm2: float  # exact area of the cut; shells that overlap count twice
    leaks: int  # rows left open by a broken mesh, their last span left out
    bridges: int  # gaps in outlines that were joined
    longest_mm: float  # longest bridge
    digest: str  # of the runs


@good
class Patience:
    """How much mending of broken meshes is allowed before a layer is refused."""

    bridge_mm: float = 0.5  # longest gap in an outline
    open_share: float = 0.01  # of an outline's segment ends


def sheet(
    press: Press, k: int, *, patience: Patience | None = None, scratch: raster.Scratch | None = None
) -> Sheet:
    """Layer k as drawn, without drawing any other.

    Parameters
    ----------
    press : Press
        From `press(stack)`.
    k : int
        Layer, from 0.
    patience : Patience, optional
        Limits of mending.
    scratch : Scratch, optional
        Buffers to use again; one per thread.

    Raises
    ------
    StopError
        If the layer does not exist, or a broken mesh would need more mending than `patience` allows.
    """
    stack = press.stack
    if not 0 <= k < stack.count:
        raise StopError(f"there is no layer {k}: the stack has layers 0 to {stack.count - 1}")
    drawn = raster.draw(
        press.scene, plane(stack, k), phase(stack, k), stack.columns, stack.rows, scratch or raster.Scratch()
    )
    _refuse_gaps(drawn, k, stack, patience or Patience())
    return Sheet(
        runs=drawn.runs,
        drops=drawn.drops,
        section_mm2=drawn.area_mm2,
        leaks=drawn.leaks,
        bridges=drawn.bridges,
        longest_mm=drawn.longest_mm,
        digest=raster.fingerprint(drawn.runs),
    )


def each(
    stack: Stack,
    finish: Callable[[int, Sheet], R],
    *,
    first: int = 0,
    threads: int | None = None,
    patience: Patience | None = None,
    tick: Tick = silent,
) -> Iterator[tuple[int, Sheet, R]]:
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
    patience : Patience, optional
        Limits of mending.

    Yields
    ------
    tuple of int, Sheet, R
        Layer number, sheet and what `finish` returned. Twice as many layers as threads are in memory at most.
    """
    ready = press(stack)
    crew = threads or os.cpu_count() or 1
    scratches: queue.SimpleQueue[raster.Scratch] = queue.SimpleQueue()
    for _ in range(crew):
        scratches.put(raster.Scratch())

    def work(k: int) -> tuple[Sheet, R]:
        scratch = scratches.get()
        try:
            drawn = sheet(ready, k, patience=patience, scratch=scratch)
        finally:
            scratches.put(scratch)
        return drawn, finish(k, drawn)

    pool = ThreadPoolExecutor(crew, thread_name_prefix="layers")
    waiting: deque[tuple[int, Future[tuple[Sheet, R]]]] = deque()
    try:
        for k in tick.over(range(first, stack.count), "drawing layers"):
            while len(waiting) < 2 * crew and k + len(waiting) < stack.count:
                ahead = k + len(waiting)
                waiting.append((ahead, pool.submit(work, ahead)))
            number, future = waiting.popleft()
            yield number, *future.result()
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def count(
    stack: Stack,
    *,
    threads: int | None = None,
    patience: Patience | None = None,
    tick: Tick = silent,
) -> Tally:
    """What drawing every layer finds, without keeping any."""
    drops, areas, leaks, bridges = [], [], 0, 0
    state = hashlib.sha256()
    for _, drawn, _ in each(stack, lambda _k, _sheet: None, threads=threads, patience=patience, tick=tick):
        drops.append(drawn.drops)
        areas.append(drawn.section_mm2)
        leaks, bridges = leaks + drawn.leaks, bridges + drawn.bridges
        state.update(drawn.digest.encode())
    return Tally(
        drops=np.array(drops, np.int64),
        section_mm2=np.array(areas, np.float64),
        leaks=leaks,
        bridges=bridges,
        digest=state.hexdigest()[:32],
    )


def _refuse_gaps(drawn: raster.Drawn, k: int, stack: Stack, patience: Patience) -> None:
    where = f"layer {k} at {(k + 0.5) * stack.layer_mm:.3f} mm"
    remedy = "mend the part file, or allow more with patience"
    if drawn.longest_mm > patience.bridge_mm:
        gap = (
            f"an outline has a gap of {drawn.longest_mm:.3f} mm, at most {patience.bridge_mm:g} mm is joined"
        )
        raise StopError(f"{where}: {gap}; {remedy}")
    if drawn.open_share > patience.open_share:
        most = f"at most {patience.open_share:.1%} are joined"
        raise StopError(f"{where}: {drawn.open_share:.1%} of an outline's ends are open, {most}; {remedy}")
