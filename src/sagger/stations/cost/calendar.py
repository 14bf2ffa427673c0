"""When each step starts and ends: machines run around the clock, people in working hours.

One printer, one oven, one furnace, and as many hands as steps need. Setting up, loading, depowdering and
inspection are attended; they rest outside working hours, Monday to Friday, and go on the next working day.
Public holidays are not known here.
"""

from __future__ import annotations

import math
from datetime import datetime, time, timedelta

from sagger.errors import InputError, OrderError
from sagger.goods.cell import Cell
from sagger.goods.job import Build
from sagger.goods.quote import Step
from sagger.goods.shop import Shop
from sagger.goods.sintered import Sintered

OPENS = timedelta(hours=8)  # a working day begins; assumed, earlier if it is longer than 16 h
DAY = timedelta(days=1)


def moment(text: str) -> datetime:
    """The date and time an order may start; `OrderError` if the text is none."""
    try:
        return datetime.fromisoformat(text)
    except ValueError as wrong:
        raise OrderError(
            "a start is an ISO date and time", field="start", value=text, remedy="Write 2030-01-31T08:00."
        ) from wrong


def attended(ready: datetime, seconds: float, working: float) -> tuple[datetime, datetime]:
    """When attended work begins and ends, if it may begin at `ready`.

    Parameters
    ----------
    ready : datetime
        Not before.
    seconds : float
        Hands-on time [s].
    working : float
        Attended hours per working day [s].

    Raises
    ------
    InputError
        If a working day has no hours.
    """
    if working <= 0:
        raise InputError("a working day needs hours", field="working_hours", value=working)
    left, now = timedelta(seconds=seconds), ready
    begins = None
    while left > timedelta(0):
        opens, closes = _shift(now, working)
        now = max(now, opens)
        begins = begins or now
        done = min(left, closes - now)
        left, now = left - done, now + done
    return begins or ready, now


def _shift(now: datetime, working: float) -> tuple[datetime, datetime]:
    """The working hours that `now` lies in, or the next ones."""
    length = min(timedelta(seconds=working), DAY)
    day = datetime.combine(now.date(), time(), now.tzinfo)
    while True:
        opens = day + min(OPENS, DAY - length)
        if day.weekday() < 5 and now < opens + length:
            return opens, opens + length
        day += DAY


def steps(
    start: datetime, builds: tuple[Build, ...], sintered: Sintered | None, cell: Cell, pieces: int
) -> tuple[Step, ...]:
    """Every step from setting up the first box to inspecting the last piece, in order of its box or run."""
    done: list[Step] = []
    printer = oven = start
    emptied: list[datetime] = []
    for build in builds:
        number, times, shop = build.layout.number, build.timetable, cell.shop
        at = _by_hand(done, f"set up box {number}", printer, times.setup, shop)
        printer = _by_machine(done, f"print box {number}", at, times.build)
        at = _by_hand(done, f"load oven, box {number}", max(printer, oven), shop.cure_labour.value, shop)
        oven = _by_machine(done, f"cure box {number}", at, build.cured.hold + build.cured.cool)
        emptied.append(_by_hand(done, f"depowder box {number}", oven, build.depowdering.hands_on, shop))
    at = max(emptied)
    if sintered is not None:
        at = _fire(done, emptied, sintered, cell.shop)
    _by_hand(done, "inspect", at, pieces * cell.shop.inspect_time.value, cell.shop)
    return tuple(done)


def _fire(done: list[Step], emptied: list[datetime], sintered: Sintered, shop: Shop) -> datetime:
    """Furnace runs in a row; run r of n waits for the first r/n of the boxes."""
    furnace, runs = min(emptied), sintered.load.runs
    for run in range(1, runs + 1):
        boxes = math.ceil(run * len(emptied) / runs)
        ready = max(furnace, *emptied[:boxes])
        at = _by_hand(done, f"load furnace, run {run}", ready, shop.furnace_labour.value, shop)
        furnace = _by_machine(done, f"furnace run {run}", at, sintered.run)
    return furnace


def _by_machine(done: list[Step], name: str, begins: datetime, seconds: float) -> datetime:
    ends = begins + timedelta(seconds=seconds)
    done.append(_step(name, seconds, begins, ends))
    return ends


def _by_hand(done: list[Step], name: str, ready: datetime, seconds: float, shop: Shop) -> datetime:
    begins, ends = attended(ready, seconds, shop.working_hours.value)
    done.append(_step(name, seconds, begins, ends))
    return ends


def _step(name: str, seconds: float, begins: datetime, ends: datetime) -> Step:
    return Step(name=name, hours=seconds / 3600, starts=written(begins), ends=written(ends))


def written(at: datetime) -> str:
    """ISO date and time, to the minute."""
    return at.isoformat(timespec="minutes")
