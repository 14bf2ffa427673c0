"""How work says how far it is, and hears "stop".

A verb that can take more than a second takes ``*, tick=silent`` and writes
``for layer in tick.over(layers, "drawing layers")``. Nothing else is asked of it.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator, Sized
from typing import TypeVar

from sagger.errors import Cancelled

T = TypeVar("T")
Report = Callable[[str, int, int], None]

PAUSE_S = 0.1  # messages closer than this are dropped: a terminal or a page cannot show them


class Tick:
    """Reports progress and raises `Cancelled` when told to stop.

    Parameters
    ----------
    report : callable
        Called with what is being done, how many are done, how many there are (0 = unknown).
    stop : callable
        Answers True once a person said stop.
    enough : callable
        Answers True once a person said that what was found so far will do.
    """

    def __init__(self, report: Report, stop: Callable[[], bool], enough: Callable[[], bool] = lambda: False):
        self._report, self._stop, self._enough, self._last = report, stop, enough, 0.0
        self.improving = False  # what runs now has a good answer and looks for a better one
        self.best = ""  # that answer in words, while it is improved

    def say(self, doing: str, done: int = 0, total: int = 0) -> None:
        """Report one step; the first, the last and those at least 0.1 s apart get through."""
        if self._stop():
            raise Cancelled
        now = time.monotonic()
        if done in (0, total) or now - self._last >= PAUSE_S:
            self._last = now
            self._report(doing, done, total)

    def over(self, items: Iterable[T], doing: str, total: int | None = None) -> Iterator[T]:
        """Yield `items`, reporting before each and after the last."""
        count = total if total is not None else len(items) if isinstance(items, Sized) else 0
        done = 0
        for done, item in enumerate(items):
            self.say(doing, done, count)
            yield item
        self.say(doing, count or done, count)

    def under(self, heading: str) -> Tick:
        """The same, for a piece of the work: what it says is told after a heading."""
        return Tick(
            lambda doing, done, total: self._report(f"{heading}: {doing}", done, total),
            self._stop,
            self._enough,
        )

    def until_enough(self, items: Iterable[T]) -> Iterator[T]:
        """Yield `items` until they end or a person says enough; whoever asks keeps the best found so far."""
        self.improving = True
        try:
            for item in items:
                if self._enough():
                    return
                yield item
        finally:
            self.improving, self.best = False, ""


silent = Tick(lambda doing, done, total: None, lambda: False)
