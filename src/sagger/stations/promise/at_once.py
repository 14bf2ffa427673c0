"""What several changes at once would make of a chance that no single one lifts."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import numpy as np

from sagger.stations.promise.sampled import Draws, verdict
from sagger.stations.promise.source import Doubted

Change = tuple[str, Callable[[Doubted], Doubted]]


def combined(
    part: Doubted,
    steps: Sequence[Change],
    cut: Callable[[Doubted, Sequence[int]], Doubted],
    few: Draws,
    sure: float,
) -> Iterator[tuple[str, Doubted]]:
    """The steps one after the other, and then all cut after sintering that still misses.

    Parameters
    ----------
    part : Doubted
        As it is planned.
    steps : sequence of (name, change)
        Changes that go together, such as support and coupons; at least one.
    cut : callable
        The part with these sizes and lines asked no more, by their rows.
    few : Draws
        By which is seen what still misses.
    sure : float
        Chance below which a size or line is said to miss.

    Yields
    ------
    tuple of str and Doubted
        What is done, in words, and the part then; nothing where there is only one step and nothing to cut.
    """
    now = part
    for _, change in steps:
        now = change(now)
    names = " and ".join(name for name, _ in steps)
    if len(steps) > 1:
        yield names, now
    missed = np.flatnonzero(verdict(now, few).inside < sure).tolist()
    if missed:
        yield f"{names}, and machine {_called(now, missed)}", cut(now, missed)


def _called(part: Doubted, rows: Sequence[int]) -> str:
    """Sizes by their names, lines by their numbers."""
    sizes = len(part.room.names)
    names = [part.room.names[row] for row in rows if row < sizes]
    lines = [str(part.drawn.numbers[row - sizes]) for row in rows if row >= sizes and part.drawn is not None]
    told = [", ".join(names)] if names else []
    return " and ".join(told + ([f"line{'s' if len(lines) > 1 else ''} {', '.join(lines)}"] if lines else []))
