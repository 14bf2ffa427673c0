"""First and last moments of each calendar day at which a machine may be started."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.goods.shift import DAY


class Days(NamedTuple):
    """First and last allowed start on each calendar day; -1 where there is none."""

    first: ndarray
    last: ndarray


def days_of(starts: ndarray, count: int) -> Days:
    """First and last allowed start on each of so many days."""
    first, last = np.full(count, -1), np.full(count, -1)
    for day in range(count):
        begin = int(starts[min(day * DAY, len(starts) - 1)])
        if begin < min((day + 1) * DAY, len(starts)):
            here = np.arange(begin, min((day + 1) * DAY, len(starts)))
            first[day], last[day] = begin, int(here[starts[here] == here][-1])
    return Days(first, last)


def working(days: Days) -> list[int]:
    return [int(day) for day in np.flatnonzero(days.first >= 0)]
