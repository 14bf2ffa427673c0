"""The cell day by day: a relaxation with a true bound on lateness and runs together.

Each build takes a day for its print and one for its heat, each portion one for its load. A machine begins
no more runs on a day, and through some days, than their lengths leave time for; boxes at a day's last moment
are no more than there are; what follows comes no earlier than the calendars allow. Change-overs, limits of
waiting and single people are left out, so that the best of these is never above the best schedule.
"""

from __future__ import annotations

from collections import defaultdict
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.goods.shift import DAY
from sagger.goods.workload import NOT_FIRED, Workload
from sagger.physics import workclock
from sagger.stations.schedule.bounds import alone
from sagger.stations.schedule.days import Days, days_of, working
from sagger.stations.schedule.linear import LeastCost, MixedProgramme
from sagger.stations.schedule.standing import nothing

WINDOW = 20  # days with attendance in which each step of a build may lie; later, it only pays its lateness
STRETCH = 4  # days through which the runs of a machine are held against the time between


class DayColumns(NamedTuple):
    """Columns of one build or portion by day, and the column of falling out of the window."""

    by_day: dict[int, int]
    out: int


class Steps(NamedTuple):
    """Columns of every build and portion, and what their steps allow."""

    prints: dict[int, DayColumns]
    heats: dict[int, DayColumns]
    loads: dict[int, DayColumns]  # by portion
    freed: dict[int, dict[int, int]]  # by build and heat day: the earliest moment its box is empty


def bound(work: Workload, nodes: int, seconds: float = 600.0) -> LeastCost:
    """Bound on the cost of every schedule of an empty cell.

    Parameters
    ----------
    nodes : int
        Of the search; the same number gives the same bound.
    """
    programme = MixedProgramme()
    count = int(alone(work, nothing(work)).max()) // DAY + 2 * WINDOW
    tables = (work.printers.starts, work.ovens.starts, work.furnaces.starts)
    days = tuple(days_of(table, count) for table in tables)
    steps = _steps(work, programme, days)
    _prints(work, programme, steps.prints, days[0])
    _boxes(work, programme, steps, days[0])
    _heats(work, programme, steps.heats, days[1])
    _loads(work, programme, steps.loads, days[2])
    return programme.least(nodes, seconds=seconds)


def _steps(work: Workload, programme: MixedProgramme, days: tuple[Days, ...]) -> Steps:
    """A day for each step, and none before the one it follows."""
    steps = Steps({}, {}, {}, {})
    ends = alone(work, nothing(work))
    by_build = defaultdict(list)
    for portion, build in enumerate(work.portions.build):
        by_build[int(build)].append(portion)
    single = np.bincount(work.portions.order)[work.portions.order] == 1
    late: dict[int, int] = {}
    for build, release in enumerate(work.builds.release):
        begin = int(work.printers.starts[release])
        out = programme.column()
        steps.prints[build] = _columns(programme, days[0], begin // DAY, out)
        oven = _after_print(work, build, begin, steps.prints[build], days[0])
        steps.heats[build] = _columns(programme, days[1], min(oven.values()), out)
        _no_sooner(programme, steps.prints[build], steps.heats[build], oven)
        freed = _freed(work, build, begin, steps.heats[build], days[1])
        steps.freed[build] = freed
        for portion in by_build[build]:
            _load_days(work, programme, steps, (portion, build), (ends, days[2]))
            _pays(work, programme, steps.loads[portion], (portion, single, late), (ends, days[2]))
    return steps


def _columns(programme: MixedProgramme, days: Days, begin: int, out: int) -> DayColumns:
    """One column for each day with starts, of which one is taken, or the step falls out of the window."""
    allowed = [day for day in range(begin, len(days.first)) if days.first[day] >= 0][:WINDOW]
    made = DayColumns({day: programme.column() for day in allowed}, out)
    terms = [(1.0, column) for column in made.by_day.values()]
    programme.row([*terms, (1.0, out)], 1, 1)
    return made


def _after_print(work: Workload, build: int, begin: int, prints: DayColumns, days: Days) -> dict[int, int]:
    """First day on which a box can go into the oven, by the day of its print."""
    length, starts = int(work.builds.printing[build]), work.ovens.starts
    return {day: int(starts[max(int(days.first[day]), begin) + length]) // DAY for day in prints.by_day}


def _freed(work: Workload, build: int, begin: int, heats: DayColumns, days: Days) -> dict[int, int]:
    """Earliest moment a box is empty, by the day of its heat."""
    builds, soonest = work.builds, int(work.ovens.starts[begin + int(work.builds.printing[build])])
    cure, freed = int(work.ovens.length[builds.programme[build]]), {}
    for day in heats.by_day:
        opened = max(int(days.first[day]), soonest) + cure
        freed[day] = min(
            int(workclock.finish(clock, workclock.worked(clock, opened) + builds.hands[build]))
            for crew, clock in enumerate(work.crews.clocks)
            if builds.crews[build, crew]
        )
    return freed


def _no_sooner(
    programme: MixedProgramme, before: DayColumns, after: DayColumns, earliest: dict[int, int]
) -> None:
    """A step is taken by a day only if the one before was taken early enough."""
    for day in after.by_day:
        terms = [(1.0, column) for at, column in after.by_day.items() if at <= day]
        terms += [(-1.0, column) for at, column in before.by_day.items() if earliest[at] <= day]
        programme.row(terms, 0)


def _load_days(
    work: Workload,
    programme: MixedProgramme,
    steps: Steps,
    which: tuple[int, int],
    calendar: tuple[ndarray, Days],
) -> None:
    """Columns of a portion's load; one that is not fired is ready with its box."""
    portion, build = which
    freed = steps.freed[build]
    if work.portions.family[portion] == NOT_FIRED:
        steps.loads[portion] = steps.heats[build]
        return
    earliest = {day: int(work.furnaces.starts[at]) // DAY for day, at in freed.items()}
    rows = _columns(programme, calendar[1], min(earliest.values()), steps.prints[build].out)
    steps.loads[portion] = rows
    _no_sooner(programme, steps.heats[build], rows, earliest)


def _pays(
    work: Workload,
    programme: MixedProgramme,
    rows: DayColumns,
    which: tuple[int, ndarray, dict[int, int]],
    calendar: tuple[ndarray, Days],
) -> None:
    """Lateness by day: straight on the columns of an order's only portion, else in a column of the order."""
    portion, single, late = which
    ends, days = calendar
    order, family = int(work.portions.order[portion]), int(work.portions.family[portion])
    length = 0 if family == NOT_FIRED else int(work.furnaces.length[family])
    price = work.prices.late * int(work.wishes.weight[order])
    due = int(work.wishes.due[order])

    def over(day: int) -> int:
        fired = int(days.first[day]) + length if length else 0
        return max(0, max(int(ends[portion]), fired) - due)

    pairs = [(over(day), column) for day, column in rows.by_day.items()]
    pairs.append((over(max(rows.by_day)), rows.out))
    if single[portion]:
        for quarters, column in pairs:
            programme.add_cost(column, price * quarters)
        return
    if order not in late:
        late[order] = programme.column(most=float("inf"), cost=price, whole=False)
    programme.row([*((float(q), column) for q, column in pairs), (-1.0, late[order])], 0)


def _prints(work: Workload, programme: MixedProgramme, prints: dict[int, DayColumns], days: Days) -> None:
    """No more prints begin on a day than printers can."""
    shortest = int(work.builds.printing.min())
    for day in working(days):
        here = [(1.0, rows.by_day[day]) for rows in prints.values() if day in rows.by_day]
        most = 1 + int(days.last[day] - days.first[day]) // shortest
        if here:
            programme.row(here, len(work.printers.holds) * most)


def _boxes(work: Workload, programme: MixedProgramme, steps: Steps, days: Days) -> None:
    """Boxes taken at the last moment at which a print may begin on a day."""
    for size, number in enumerate(work.boxes.number):
        mine = [build for build in steps.prints if work.builds.box[build] == size]
        for day in working(days):
            terms: list[tuple[float, int]] = []
            for build in (each for each in mine if day in steps.prints[each].by_day):
                taken, freed = steps.prints[build].by_day, steps.freed[build]
                terms += [(1.0, column) for at, column in taken.items() if at <= day]
                terms += [
                    (-1.0, column)
                    for at, column in steps.heats[build].by_day.items()
                    if freed[at] <= days.last[day]
                ]
            if terms:
                programme.row(terms, int(number))


def _heats(work: Workload, programme: MixedProgramme, heats: dict[int, DayColumns], days: Days) -> None:
    """Heats of a day hold its boxes, and are no more than ovens can begin."""
    ovens, builds = work.ovens, work.builds
    runs: dict[int, list[int]] = defaultdict(list)
    most_boxes = int(ovens.room.max())
    for day in working(days):
        most = 1 + int(days.last[day] - days.first[day]) // int(ovens.length.min())
        here = []
        for kind in range(len(ovens.length)):
            mine = [b for b, rows in heats.items() if day in rows.by_day and builds.programme[b] == kind]
            if mine:
                run = programme.column(most=len(ovens.room) * most)
                terms = [(float(builds.room[b]), heats[b].by_day[day]) for b in mine]
                programme.row([*terms, (-float(most_boxes), run)], 0)
                here.append((1.0, run))
                runs[kind].append(run)
        if here:
            programme.row(here, len(ovens.room) * most)
    sizes = (builds.programme, builds.room)
    _paid(programme, runs, sizes, (most_boxes, int(work.prices.heating.min())))


def _loads(work: Workload, programme: MixedProgramme, loads: dict[int, DayColumns], days: Days) -> None:
    """Loads of a day hold its portions; each furnace begins no more of them than their lengths allow."""
    furnaces, portions = work.furnaces, work.portions
    fired = [portion for portion in loads if portions.family[portion] != NOT_FIRED]
    runs: dict[int, list[int]] = defaultdict(list)
    by_furnace: dict[int, dict[tuple[int, int], int]] = defaultdict(dict)
    room = int(furnaces.room.max())
    for day in working(days):
        for kind, length in enumerate(furnaces.length):
            mine = [p for p in fired if day in loads[p].by_day and portions.family[p] == kind]
            if not mine:
                continue
            most = 1 + int(days.last[day] - days.first[day]) // int(length)
            here = {int(each): programme.column(most=most) for each in np.flatnonzero(furnaces.may[:, kind])}
            for furnace, run in here.items():
                by_furnace[furnace][kind, day] = run
            terms = [(float(portions.shelves[p]), loads[p].by_day[day]) for p in mine]
            programme.row([*terms, *((-float(furnaces.room[f]), run) for f, run in here.items())], 0)
            for portion in mine:
                in_one = [(1.0, loads[portion].by_day[day]), *((-1.0, run) for run in here.values())]
                programme.row(in_one, 0)
            runs[kind] += here.values()
    for rows in by_furnace.values():
        _in_time(work, programme, rows, days)
    mask = portions.family != NOT_FIRED
    sizes = (portions.family[mask], portions.shelves[mask])
    _paid(programme, runs, sizes, (room, int(work.prices.firing.min())))


def _in_time(work: Workload, programme: MixedProgramme, rows: dict[tuple[int, int], int], days: Days) -> None:
    """All loads of some days but the last are over before the last start of these days."""
    allowed = working(days)
    length = work.furnaces.length
    for place, begin in enumerate(allowed):
        for until in range(place, min(place + STRETCH + 1, len(allowed))):
            among = set(allowed[place : until + 1])
            here = [(int(length[kind]), column) for (kind, day), column in rows.items() if day in among]
            if not here:
                continue
            span = int(days.last[allowed[until]] - days.first[begin])
            most = 1 + span // min(quarters for quarters, _ in here)
            programme.row([(1.0, column) for _, column in here], most)
            terms = [(float(quarters), column) for quarters, column in here]
            programme.row(terms, span + max(quarters for quarters, _ in here))


def _paid(
    programme: MixedProgramme,
    runs: dict[int, list[int]],
    sizes: tuple[ndarray, ndarray],
    price: tuple[int, int],
) -> None:
    """Runs of the window are paid, and never fewer than the volume asks for."""
    kinds, size = sizes
    for kind, columns in runs.items():
        least = -(-int(size[kinds == kind].sum()) // price[0])
        paid = programme.column(most=float("inf"), cost=price[1], least=least)
        programme.row([*((1.0, run) for run in columns), (-1.0, paid)], 0)
