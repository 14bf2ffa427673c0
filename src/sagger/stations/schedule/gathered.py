"""Orders of the book and the cell's card as a workload in numbers."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from typing import TypeVar

import numpy as np
from numpy import ndarray

from sagger.errors import InputError
from sagger.goods.asked import AskedBuild, AskedOrder
from sagger.goods.figure import Figure
from sagger.goods.shift import DAY, QUARTER, WEEK, WEEKDAYS
from sagger.goods.stand import FiringFamily, HeatProgramme, Stand
from sagger.goods.workload import (
    NOT_FIRED,
    Blocks,
    Builds,
    Crews,
    Furnaces,
    JobBoxes,
    Ovens,
    Portions,
    PowderStock,
    Prices,
    Printers,
    Wishes,
    Workload,
)
from sagger.physics import workclock

ROOM_WEEKS = 8  # of calendar behind the last due date
BUILDS_A_WEEK = 4  # that even a poor cell gets through
CENTS = 100
T = TypeVar("T")

Pair = tuple[AskedOrder, AskedBuild]


def moment(base: str, text: str, *, late: bool = False) -> int:
    """Quarters from `base` to an ISO moment; `late` rounds up."""
    try:
        apart = (datetime.fromisoformat(text) - datetime.fromisoformat(base)).total_seconds() / QUARTER
    except (TypeError, ValueError):
        remedy = "Write local time as 2030-01-31T08:00."
        raise InputError("a moment is an ISO date and time", value=text, remedy=remedy) from None
    return math.ceil(apart - 1e-9) if late else math.floor(apart + 1e-9)


def written(base: str, quarter: int) -> str:
    """ISO moment of a quarter."""
    at = datetime.fromisoformat(base) + timedelta(seconds=int(quarter) * QUARTER)
    return at.isoformat(timespec="minutes")


def monday(text: str) -> str:
    """The Monday, 00:00, of the week of an ISO moment."""
    at = datetime.fromisoformat(text)
    day = at.date() - timedelta(days=at.weekday())
    return datetime(day.year, day.month, day.day).isoformat()


def workload(stand: Stand, orders: Sequence[AskedOrder], base: str, blocks: Blocks | None = None) -> Workload:
    """What these orders ask of the cell, from `base` on.

    Raises
    ------
    InputError
        If the cell has no box, programme or family for a build.
    """
    pairs = [(order, build) for order in orders for build in order.builds]
    clock = attended(stand, base, _weeks(orders, base, len(pairs)))
    starts = workclock.starts(clock, 1)
    none = np.zeros(0, np.int64)
    powders = sorted({powder for printer in stand.printers for powder in printer.powders})
    return Workload(
        base=base,
        builds=_builds(stand, pairs, powders, base),
        portions=_portions(stand, orders, pairs),
        wishes=_wishes(orders, base),
        printers=Printers(
            change=_changes(stand, powders), holds=np.full(len(stand.printers), -1), starts=starts
        ),
        boxes=JobBoxes(number=_row(stand.boxes, lambda box: _count(box.number))),
        ovens=_ovens(stand, starts),
        crews=_crews(stand, clock),
        furnaces=_furnaces(stand, starts),
        stock=PowderStock(
            deliveries=np.zeros((0, 3), np.int64), counted=np.zeros(len(powders), bool), sieving=0
        ),
        blocks=blocks or Blocks(machine=none, begins=none, ends=none),
        prices=_prices(stand),
    )


def attended(stand: Stand, base: str, weeks: int) -> ndarray:
    """Quarters with somebody there, bool (weeks x 672,)."""
    there = np.zeros(WEEK, bool)
    for shift in stand.shifts:
        opens, closes = (round(hour.value / QUARTER) for hour in (shift.opens, shift.closes))
        days = [WEEKDAYS.index(day) for day in shift.days]
        there |= workclock.weekly(opens, closes, days, 1)
    row = np.tile(there, weeks)
    for special in stand.special_days:
        begin = moment(base, f"{special.date}T00:00")
        if 0 <= begin < len(row):
            row[begin : begin + DAY] = False
            opens, closes = (round(hour.value / QUARTER) for hour in (special.opens, special.closes))
            row[begin + opens : begin + closes] = True
    return row


def _weeks(orders: Sequence[AskedOrder], base: str, builds: int) -> int:
    latest = max(moment(base, text) for order in orders for text in (order.due, order.release) if text)
    return ROOM_WEEKS + max(0, latest) // WEEK + builds // BUILDS_A_WEEK


def _builds(stand: Stand, pairs: list[Pair], powders: list[str], base: str) -> Builds:
    sizes = [box.box for box in stand.boxes]
    count, none = len(pairs), np.zeros(len(pairs), np.int64)
    may = [
        [pair[1].powder in printer.powders and pair[1].box in printer.boxes for printer in stand.printers]
        for pair in pairs
    ]
    for (order, build), able in zip(pairs, may, strict=True):
        if not any(able) or build.box not in sizes:
            what = f"no printer of {stand.name} prints {build.powder} in {build.box}"
            remedy = "Mend the build, or the card of the cell."
            raise InputError(what, field=f"{order.name}/{build.label}", value=build.powder, remedy=remedy)
    return Builds(
        release=_row(pairs, lambda pair: max(0, moment(base, pair[0].release or base, late=True))),
        printing=_row(pairs, lambda pair: quarters(pair[1].print_h)),
        hands=_row(pairs, lambda pair: quarters(pair[1].hands_h)),
        powder=_row(pairs, lambda pair: powders.index(pair[1].powder)),
        box=_row(pairs, lambda pair: sizes.index(pair[1].box)),
        programme=_row(pairs, lambda pair: _kind(stand.programmes, pair, "programme")),
        room=none + 1,
        printers=np.array(may, bool).reshape(count, len(stand.printers)),
        crews=np.ones((count, len(stand.crews)), bool),
        fed=none,
        back=none,
    )


def _kind(kinds: Sequence[HeatProgramme] | Sequence[FiringFamily], pair: Pair, word: str) -> int:
    """Which programme or family a build is of, by its powder."""
    order, build = pair
    powders = [kind.powders for kind in kinds]
    for place, fitting in enumerate(powders):
        if build.powder in fitting:
            return place
    what = f"no {word} of the cell is for {build.powder}"
    raise InputError(what, field=f"{order.name}/{build.label}", value=build.powder, remedy="Mend the card.")


def _portions(stand: Stand, orders: Sequence[AskedOrder], pairs: list[Pair]) -> Portions:
    index = {order.name: place for place, order in enumerate(orders)}
    return Portions(
        build=np.arange(len(pairs)),
        order=_row(pairs, lambda pair: index[pair[0].name]),
        family=_row(
            pairs, lambda pair: _kind(stand.families, pair, "family") if pair[1].shelves else NOT_FIRED
        ),
        shelves=_row(pairs, lambda pair: pair[1].shelves),
    )


def _wishes(orders: Sequence[AskedOrder], base: str) -> Wishes:
    """What was promised goes before what was wished."""
    return Wishes(
        due=_row(orders, lambda order: moment(base, order.promised or order.due)),
        weight=_row(orders, lambda order: order.weight),
    )


def _changes(stand: Stand, powders: list[str]) -> ndarray:
    """Change-overs by powder; the card keeps the triangle inequality."""
    change = np.zeros((len(powders), len(powders)), np.int64)
    for row in stand.changes:
        change[powders.index(row.before), powders.index(row.after)] = _quarters(row.length)
    return change


def _ovens(stand: Stand, starts: ndarray) -> Ovens:
    names = [programme.name for programme in stand.programmes]
    return Ovens(
        room=_row(stand.ovens, lambda oven: _count(oven.places)),
        may=np.array([[name in oven.programmes for name in names] for oven in stand.ovens]),
        length=_row(stand.programmes, lambda programme: _quarters(programme.length)),
        wait=_row(stand.programmes, lambda programme: _quarters(programme.wait)),
        starts=starts,
    )


def _furnaces(stand: Stand, starts: ndarray) -> Furnaces:
    names = [family.name for family in stand.families]
    return Furnaces(
        room=_row(stand.furnaces, lambda furnace: _count(furnace.shelves)),
        may=np.array([[name in furnace.families for name in names] for furnace in stand.furnaces]),
        length=_row(stand.families, lambda family: _quarters(family.length)),
        wait=_row(stand.families, lambda family: _quarters(family.wait)),
        starts=starts,
    )


def _crews(stand: Stand, clock: ndarray) -> Crews:
    people = _row(stand.crews, lambda crew: _count(crew.people))
    return Crews(people=people, clocks=(workclock.ticking(clock),) * len(stand.crews))


def _prices(stand: Stand) -> Prices:
    """In cents, whole."""
    return Prices(
        late=round(stand.lateness.value * QUARTER * CENTS),
        firing=np.full(len(stand.furnaces), round(stand.firing.value * CENTS)),
        heating=np.full(len(stand.ovens), round(stand.heating.value * CENTS)),
        changing=round(stand.changing.value * QUARTER * CENTS),
    )


def quarters(hours: float) -> int:
    """Whole quarters that hold these hours, at least one."""
    return max(1, math.ceil(hours * 3600 / QUARTER - 1e-9))


def _quarters(length: Figure) -> int:
    return quarters(length.value / 3600)


def _count(figure: Figure) -> int:
    return round(figure.value)


def _row(rows: Sequence[T], of: Callable[[T], int]) -> ndarray:
    return np.array([of(row) for row in rows], np.int64)
