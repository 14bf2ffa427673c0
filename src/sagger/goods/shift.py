"""Hours in which people are there, and the two clocks that follow from them, in quarter hours."""

from __future__ import annotations

from numpy import ndarray

from sagger.goods.figure import Figure, figure
from sagger.goods.good import good

QUARTER = 900.0  # [s]; times of a cell are whole quarters since the Monday, 00:00, on which its clock begins
DAY, WEEK = 96, 672  # quarters
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
NEVER = 1 << 40  # a moment that does not come [quarters]


@good
class Shift:
    """Opening hours on some days of every week."""

    days: tuple[str, ...]  # of WEEKDAYS
    opens: Figure = figure("time")  # after midnight
    closes: Figure = figure("time")  # after midnight


@good
class SpecialDay:
    """A date with hours of its own; opens = closes for a day off."""

    date: str  # ISO
    opens: Figure = figure("time")
    closes: Figure = figure("time")


@good
class WorkClock:
    """Calendar and working time of the same people, as tables over the quarters of a calendar."""

    worked: ndarray  # int64 (n + 1,): quarters of working time before each moment of the calendar
    moments: ndarray  # int64 (u,): moment of the calendar at which each quarter of working time begins
