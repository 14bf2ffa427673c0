"""When each step starts and ends: machines run around the clock, people in working hours.

One printer, one oven, one furnace, and as many hands as steps need. Setting up, loading, depowdering and
inspection are attended; they rest outside working hours, Monday to Friday, and go on the next working day.
Public holidays are not known here.
"""

from __future__ import annotations

from collections import Counter
from datetime import datetime, time, timedelta
from typing import NamedTuple

from numpy import ndarray

from sagger.errors import InputError, OrderError
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


class DatedSteps(NamedTuple):
    """Steps on the calendar, and when the last piece of each part is inspected."""

    steps: tuple[Step, ...]
    ready: dict[int, datetime]


class OutTogether(NamedTuple):
    """Pieces that come out of box or furnace together."""

    name: str
    out: datetime
    pieces: Counter[int]  # by part


class ShopPace(NamedTuple):
    """Hours over those planned."""

    machine: float
    hands: float


PLANNED = ShopPace(1.0, 1.0)


class StepsSoFar(NamedTuple):
    """Steps so far, of a shop at a pace."""

    done: list[Step]
    shop: Shop
    pace: ShopPace


def steps(
    start: datetime,
    builds: tuple[Build, ...],
    sintered: Sintered | None,
    shop: Shop,
    *,
    inspected: ndarray,
    pace: ShopPace = PLANNED,
) -> DatedSteps:
    """Every step from setting up the first box to inspecting the last piece, in order of its box or run.

    `inspected`: hands-on time of inspection of all pieces of each part, float64 (parts,) [s].
    """
    route = StepsSoFar([], shop, pace)
    printer = oven = start
    emptied: list[datetime] = []
    for build in builds:
        number, times = build.layout.number, build.timetable
        at = _by_hand(route, f"set up box {number}", printer, times.setup)
        printer = _by_machine(route, f"print box {number}", at, times.build)
        at = _by_hand(route, f"load oven, box {number}", max(printer, oven), shop.cure_labour.value)
        oven = _by_machine(route, f"cure box {number}", at, build.cured.hold + build.cured.cool)
        emptied.append(_by_hand(route, f"depowder box {number}", oven, build.depowdering.hands_on))
    batches = _boxed(builds, emptied)
    if sintered is not None:
        batches = _fire(route, batches, sintered)
    return DatedSteps(*_inspected(route, batches, inspected))


def _boxed(builds: tuple[Build, ...], emptied: list[datetime]) -> list[OutTogether]:
    return [
        OutTogether(f"box {build.layout.number}", out, Counter(piece.part for piece in build.layout.pieces))
        for build, out in zip(builds, emptied, strict=True)
    ]


def _fire(route: StepsSoFar, boxes: list[OutTogether], sintered: Sintered) -> list[OutTogether]:
    """Furnace runs in a row; each waits for the boxes that its pieces come from, the last for all of them."""
    furnace, runs = min(box.out for box in boxes), sintered.load.runs
    batches, left = [], [Counter(box.pieces) for box in boxes]
    for run in range(1, runs + 1):
        pieces = sum(left, Counter[int]()) if run == runs else _on_trays(sintered, run)
        last = _taken(pieces, left)
        ready = max(furnace, boxes[last].out if run < runs else max(box.out for box in boxes))
        at = _by_hand(route, f"load furnace, run {run}", ready, route.shop.furnace_labour.value)
        furnace = _by_machine(route, f"furnace run {run}", at, sintered.run)
        batches.append(OutTogether(f"run {run}", furnace, pieces))
    return batches


def _on_trays(sintered: Sintered, run: int) -> Counter[int]:
    pieces: Counter[int] = Counter()
    for tray in sintered.load.each:
        if tray.run == run:
            pieces.update(dict(tray.pieces))
    return pieces


def _taken(pieces: Counter[int], left: list[Counter[int]]) -> int:
    """Take pieces out of the boxes, the earliest first; place of the last box that one comes from."""
    last, wanted = 0, Counter(pieces)
    for place, box in enumerate(left):
        held_here = box & wanted
        box.subtract(held_here)
        wanted.subtract(held_here)
        last = place if held_here else last
    return last


def _inspected(
    route: StepsSoFar, batches: list[OutTogether], hands: ndarray
) -> tuple[tuple[Step, ...], dict[int, datetime]]:
    """Each batch is inspected when it is out; a part is ready with the last batch that holds it."""
    total = sum((batch.pieces for batch in batches), Counter[int]())
    ready: dict[int, datetime] = {}
    for batch in batches:
        seconds = sum(float(hands[part]) * count / total[part] for part, count in batch.pieces.items())
        name = f"inspect, {batch.name}" if len(batches) > 1 else "inspect"
        ends = _by_hand(route, name, batch.out, seconds)
        ready |= {part: max(ends, ready.get(part, ends)) for part in batch.pieces}
    return tuple(route.done), ready


def _by_machine(route: StepsSoFar, name: str, begins: datetime, seconds: float) -> datetime:
    seconds *= route.pace.machine
    ends = begins + timedelta(seconds=seconds)
    route.done.append(_step(name, seconds, begins, ends))
    return ends


def _by_hand(route: StepsSoFar, name: str, ready: datetime, seconds: float) -> datetime:
    seconds *= route.pace.hands
    begins, ends = attended(ready, seconds, route.shop.working_hours.value)
    route.done.append(_step(name, seconds, begins, ends))
    return ends


def _step(name: str, seconds: float, begins: datetime, ends: datetime) -> Step:
    return Step(name=name, hours=seconds / 3600, starts=written(begins), ends=written(ends))


def written(at: datetime) -> str:
    """ISO date and time, to the minute."""
    return at.isoformat(timespec="minutes")
