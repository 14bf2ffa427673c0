"""Two clocks: machines run on the calendar, hands on the working time since the first opening.

Both count quarter hours. Working time stands still while nobody is there, so that closing time and the next
opening are one point of it and two of the calendar: work begins at `moment` and ends at `finish`.
All functions are non-decreasing in time: who is ready earlier is never done later.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy import ndarray

from sagger.errors import LawError
from sagger.goods.shift import DAY, NEVER, WEEK, WorkClock


def ticking(attended: ndarray) -> WorkClock:
    """The two clocks of people who are there in the quarters marked.

    Parameters
    ----------
    attended : bool (n,)
        For each quarter of the calendar.

    Source
    ------
    Definition: working time is the number of attended quarters gone by.
    """
    there = np.asarray(attended, dtype=bool)
    worked = np.concatenate(([0], np.cumsum(there))).astype(np.int64)
    return WorkClock(worked=worked, moments=np.flatnonzero(there).astype(np.int64))


def weekly(opens: int, closes: int, days: Sequence[int], weeks: int) -> ndarray:
    """Quarters attended, bool (weeks x 672,): from `opens` to `closes` [quarters] on `days` (0 = Monday).

    Raises
    ------
    LawError
        If a day would close before it opens.
    """
    if not 0 <= opens <= closes <= DAY:
        raise LawError(f"a day opens before it closes, got quarters {opens} to {closes} of {DAY}")
    week = np.zeros(WEEK, dtype=bool)
    for day in days:
        week[day * DAY + opens : day * DAY + closes] = True
    return np.tile(week, weeks)


def worked(clock: WorkClock, at: ndarray | int) -> ndarray:
    """Working time before a moment of the calendar [quarters]."""
    return np.asarray(clock.worked[_within(at, len(clock.worked))])


def moment(clock: WorkClock, work: ndarray | int) -> ndarray:
    """Moment at which work begins that is to begin at this working time: an opening, never a closing."""
    return np.asarray(clock.moments[_within(work, len(clock.moments))])


def finish(clock: WorkClock, work: ndarray | int) -> ndarray:
    """Moment at which work ends that ends at this working time: a closing, never the next opening."""
    return np.asarray(clock.moments[_within(np.asarray(work) - 1, len(clock.moments))] + 1)


def attended(clock: WorkClock, at: ndarray | int) -> ndarray:
    """First moment not before `at` with a person there."""
    return moment(clock, worked(clock, at))


def starts(attended: ndarray, hands: int) -> ndarray:
    """First moment not before each with `hands` quarters of attendance in one piece, int64 (n + 1,).

    For work that must not be interrupted, such as loading a furnace; `NEVER` where none comes.
    """
    there = np.asarray(attended, dtype=bool)
    ends = np.concatenate((~there, [True]))
    after = _next(ends)  # first quarter from each on with nobody there
    places = np.arange(len(ends))
    return _next(np.append(there, False) & (after - places >= max(hands, 1)))


def _next(marked: ndarray) -> ndarray:
    """First marked place not before each."""
    places = np.where(marked, np.arange(len(marked)), NEVER)
    return np.minimum.accumulate(places[::-1])[::-1].astype(np.int64)


def _within(at: ndarray | int, length: int) -> ndarray:
    place = np.asarray(at)
    if place.size and (place.min() < 0 or place.max() >= length):
        raise LawError(
            f"the calendar was made for {length} quarters, asked for {int(place.max())}; make a longer one"
        )
    return place
