"""A plan of the cell in words: orders with date and risk, what each station does on a day, offers, scores."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from sagger.goods.asked import CellOffer, CellPlan, OfferRow, OrderForecast, PlannedBuild, PromiseScore
from sagger.goods.good import good


@good
class DayTask:
    """Something that begins, ends or may be fetched at a station."""

    at: str  # ISO
    station: str
    deed: str


@good
class DaySheet:
    """What every station does on one day."""

    schema: str = "sagger-cell-day/1"
    day: str
    tasks: tuple[DayTask, ...]


class NamedRun(NamedTuple):
    """A heat or a load: its machine, from, to."""

    machine: str
    begins: str
    ends: str


def plan_lines(plan: CellPlan, currency: str) -> list[str]:
    """What was planned, and each order with its date and risk; the soonest due first."""
    head = (
        f"{len(plan.builds)} builds of {len(plan.orders)} orders, {plan.heats} heats, {plan.loads} loads; "
        f"{plan.late or 'no'} order{'' if plan.late == 1 else 's'} late"
    )
    gap = f", at most {plan.cost / plan.bound - 1:.0%} above the least" if plan.bound > 0 else ""
    cost = f"cost {plan.cost:.0f} {currency}, none below {plan.bound:.0f} ({plan.bound_by}){gap}"
    rows = [_forecast(row) for row in sorted(plan.orders, key=lambda row: row.due)]
    heading = f"{'order':<24} {'due':<16}  {'planned':<16}  {'90 % by':<16}  in time"
    return [head, cost, heading, *rows]


def fixed_lines(fixed: Sequence[str]) -> list[str]:
    """Which builds stay where they are until somebody frees them."""
    return [f"fixed until freed: {', '.join(fixed)}"] if fixed else []


def _forecast(row: OrderForecast) -> str:
    mates = f"  waits for {', '.join(row.mates)}" if row.mates else ""
    times = "  ".join(_short(text) for text in (row.due, row.planned, row.likely))
    return f"{row.order[:24]:<24} {times}  {row.in_time:>6.0%}{mates}"


def day_sheet(plan: CellPlan, day: str) -> DaySheet:
    """What begins and ends at each station on a day [ISO date]."""
    tasks = [task for task in _tasks(plan.builds) if task.at.startswith(day)]
    return DaySheet(day=day, tasks=tuple(sorted(tasks, key=lambda task: (task.station, task.at, task.deed))))


def day_lines(sheet: DaySheet) -> list[str]:
    """The sheet, station by station."""
    lines = [sheet.day]
    by_station: dict[str, list[DayTask]] = defaultdict(list)
    for task in sheet.tasks:
        by_station[task.station].append(task)
    for station, tasks in by_station.items():
        lines += [station, *(f"  {task.at[11:16]}  {task.deed}" for task in tasks)]
    return lines if sheet.tasks else [sheet.day, "nothing begins or ends"]


def _tasks(builds: Sequence[PlannedBuild]) -> Iterator[DayTask]:
    for row in builds:
        name = f"{row.order}/{row.build}"
        yield DayTask(at=row.starts, station=row.printer, deed=f"start {name} in {row.powder}")
        yield DayTask(at=row.printed, station=row.printer, deed=f"{name} is printed")
        yield DayTask(at=row.bench_from, station=row.crew, deed=f"empty the box of {name}")
        yield DayTask(at=row.emptied, station=row.crew, deed=f"{name} is emptied")
    heats = _batches((row.heat, NamedRun(row.oven, row.heated_from, row.heated_to), row) for row in builds)
    fired = (row for row in builds if row.load >= 0)
    loads = _batches((row.load, NamedRun(row.furnace, row.fired_from, row.ready), row) for row in fired)
    for batches, word in ((heats, "heat"), (loads, "load")):
        for batch, names in batches:
            inside = ", ".join(names)
            yield DayTask(at=batch.begins, station=batch.machine, deed=f"start the {word} of {inside}")
            yield DayTask(
                at=batch.ends, station=batch.machine, deed=f"the {word} of {inside} may be unloaded"
            )


def _batches(
    rows: Iterable[tuple[int, NamedRun, PlannedBuild]],
) -> list[tuple[NamedRun, list[str]]]:
    """Each heat or load with the builds in it."""
    batches: dict[int, tuple[NamedRun, list[str]]] = {}
    for number, batch, row in rows:
        batches.setdefault(number, (batch, []))[1].append(f"{row.order}/{row.build}")
    return list(batches.values())


def offer_lines(offer: CellOffer) -> list[str]:
    """The ways to take an order in, one a line."""
    head = f"{offer.order}: it rests on plan {offer.rests_on} and reserves nothing"
    heading = f"{'way':<46} {'planned':<16}  {'90 % by':<16}  loads  heats  {offer.currency} added"
    return [head, heading, *(_offered(row) for row in offer.rows)]


def _offered(row: OfferRow) -> str:
    times = f"{_short(row.planned)}  {_short(row.by)}"
    return f"{row.way:<46} {times}  {row.new_loads:>+5}  {row.new_heats:>+5}  {row.added:>+9.0f}"


def score_lines(scores: Sequence[PromiseScore]) -> list[str]:
    """Promises met, by the weeks that they were given ahead; each one below."""
    if not scores:
        return ["no order that was promised is delivered yet"]
    by_weeks: dict[int, list[PromiseScore]] = defaultdict(list)
    for score in scores:
        by_weeks[score.weeks_ahead].append(score)
    lines = [
        f"{weeks} weeks ahead: {sum(score.met for score in rows)} of {len(rows)} promises met, "
        f"{sum(score.chance for score in rows):.1f} expected"
        for weeks, rows in sorted(by_weeks.items())
    ]
    return lines + [
        f"  {score.order}: promised by {_short(score.by)} at {score.chance:.0%}, "
        f"delivered {_short(score.delivered)}{'' if score.met else ', late'}"
        for score in scores
    ]


def _short(moment: str) -> str:
    return moment[:16].replace("T", " ")
