"""A plan of the cell with its dates at a chance, and what a new order would get beside it."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.errors import StopError
from sagger.goods.asked import AskedOrder, CellEvent, CellPlan, OfferRow, OrderForecast, PlannedBuild
from sagger.goods.schedule import FoundSchedule, PlanningEffort, Schedule
from sagger.goods.shift import DAY, QUARTER
from sagger.goods.stand import Stand
from sagger.goods.workload import Wishes
from sagger.stations import dates, schedule
from sagger.stations.schedule import BegunCell, begun, monday, planned_builds, written
from sagger.stations.schedule.gathered import CENTS
from sagger.tick import Tick, silent

SAMPLES = 1000
PATIENCE_DAYS = (0, 1, 3, 7)
ALL_KEPT_H = 24.0 * 366 * 3  # whatever is planned stays
URGENT, PATIENT = 1000, 1  # weights of a new order: as soon as may be; not before the day it asks for
BESIDE = PlanningEffort(trials=100, rounds=0, nodes=0)
MOVED = PlanningEffort(trials=1500, rounds=0, nodes=0)


class CellNow(NamedTuple):
    """What the book and the card say at a moment."""

    stand: Stand
    orders: tuple[AskedOrder, ...]
    rows: tuple[PlannedBuild, ...]  # of the plan accepted last
    events: tuple[CellEvent, ...]
    now: str  # ISO


def planned(
    cell: CellNow, effort: PlanningEffort, chance: float, seed: int = 1, tick: Tick = silent
) -> CellPlan:
    """The best plan found for all that is open, with the date of each order at a chance."""
    state, best = _found(cell, effort, tick)
    tick.say("drawing how long things take")
    ends = drawn_ends(cell, state, best.schedule, seed)
    return CellPlan(
        stand=cell.stand.name,
        now=cell.now,
        seed=seed,
        builds=planned_builds(cell.stand, state.work, best.schedule, state.names),
        late=best.worth.orders_late,
        loads=best.worth.loads,
        heats=best.worth.heats,
        cost=best.worth.cost / CENTS,
        bound=best.bound / CENTS,
        bound_by=best.bound_by,
        orders=_forecasts(cell, state, best.schedule, ends, chance),
    )


def _found(cell: CellNow, effort: PlanningEffort, tick: Tick) -> tuple[BegunCell, FoundSchedule]:
    """Planned with what was to begin soon and what is fixed; without the one, then without both, if a
    breakdown makes it impossible."""
    free = cell._replace(events=tuple(event for event in cell.events if event.kind != "fixed"))
    for now, kept_h in ((cell, cell.stand.kept.value / 3600), (cell, 0.0)):
        state = state_of(now, kept_h)
        try:
            return state, schedule.plan(state.work, state.stands, effort, tick=tick)
        except StopError:
            continue
    state = state_of(free, 0.0)
    return state, schedule.plan(state.work, state.stands, effort, tick=tick)


def state_of(cell: CellNow, kept_h: float) -> BegunCell:
    """The workload from the Monday before anything that is still in it."""
    open_names = {order.name for order in cell.orders}
    rows = [row for row in cell.rows if row.order in open_names]
    base = monday(min([cell.now, *(row.starts for row in rows)]))
    return begun(cell.stand, cell.orders, rows, cell.events, (base, cell.now), kept_h)


def drawn_ends(cell: CellNow, state: BegunCell, plan: Schedule, seed: int) -> ndarray:
    """When each order is ready in each sample, int64 (samples, orders) [quarters]."""
    stand = cell.stand
    scatter = dates.Scattering(stand.print_scatter.value, stand.hands_scatter.value, stand.builds_lost.value)
    durations = dates.drawn(state.work, state.names, scatter, SAMPLES, seed)
    patience = round(stand.patience.value / QUARTER)
    return dates.order_ends_drawn(state.work, state.facts, plan, durations, patience)


def _forecasts(
    cell: CellNow, state: BegunCell, plan: Schedule, ends: ndarray, chance: float
) -> tuple[OrderForecast, ...]:
    work, planned_ends = state.work, schedule.order_ends(state.work, plan)
    forecasts = []
    for place, order in enumerate(cell.orders):
        due = int(work.wishes.due[place])
        forecasts.append(
            OrderForecast(
                order=order.name,
                due=order.promised or order.due,
                planned=written(work.base, int(planned_ends[place])),
                likely=written(work.base, dates.quantile(ends[:, place], chance)),
                in_time=float((ends[:, place] <= due).mean()),
                mates=_mates(cell, state, plan, place),
            )
        )
    return tuple(forecasts)


def _mates(cell: CellNow, state: BegunCell, plan: Schedule, order: int) -> tuple[str, ...]:
    """Orders whose builds share a heat or a load with this one: it waits for them."""
    mine = state.work.portions.order == order
    heat = np.isin(plan.heat[state.work.portions.build], plan.heat[state.work.portions.build[mine]])
    load = np.isin(plan.load, plan.load[mine & (plan.load >= 0)])
    others = {int(each) for each in state.work.portions.order[heat | load]} - {order}
    return tuple(cell.orders[each].name for each in sorted(others))


def offered(cell: CellNow, new: AskedOrder, chance: float, seed: int = 1) -> tuple[OfferRow, ...]:
    """Ways to take a new order in: beside the plan with more or less patience, or with others moved, of
    which none comes later than promised."""
    was = (0, 0, 0)
    if cell.orders:
        before = state_of(cell, ALL_KEPT_H)
        worth = schedule.plan(before.work, before.stands, BESIDE).worth
        was = (worth.loads, worth.heats, worth.money)
    with_new = cell._replace(orders=(*cell.orders, new))
    state = state_of(with_new, ALL_KEPT_H)
    rows, soonest = [], None
    for days in PATIENCE_DAYS:
        aim = (soonest or 0) + days * DAY if days else 0
        asked = _wishing(state, aim, PATIENT if days else URGENT)
        best = schedule.plan(asked.work, asked.stands, BESIDE)
        end = int(schedule.order_ends(asked.work, best.schedule)[-1])
        soonest = end if soonest is None else soonest
        ends = drawn_ends(with_new, asked, best.schedule, seed)[:, -1]
        way = f"beside the plan, {days} days' patience" if days else "beside the plan, at once"
        rows.append(_row(way, asked, (end, dates.quantile(ends, chance), chance), best, was))
    moved = _others_moved(with_new, chance, seed, was)
    return (*rows, *moved)


def _wishing(state: BegunCell, due: int, weight: int) -> BegunCell:
    """The same with another wish of the last order."""
    wishes = state.work.wishes
    dues, weights = wishes.due.copy(), wishes.weight.copy()
    dues[-1], weights[-1] = due, weight
    return state._replace(work=dataclasses.replace(state.work, wishes=Wishes(due=dues, weight=weights)))


def _others_moved(cell: CellNow, chance: float, seed: int, was: tuple[int, int, int]) -> tuple[OfferRow, ...]:
    """The way with all plans open again, if nobody who was promised a date comes later than that or than
    now."""
    state = state_of(cell, cell.stand.kept.value / 3600)
    asked = _wishing(state, 0, URGENT)
    try:
        best = schedule.plan(asked.work, asked.stands, MOVED)
    except StopError:
        return ()
    ends = schedule.order_ends(asked.work, best.schedule)
    by_now = {row.order: "" for row in cell.rows}
    for row in cell.rows:
        by_now[row.order] = max(by_now[row.order], row.ready)
    for place, order in enumerate(cell.orders[:-1]):
        limit = max(order.promised, by_now.get(order.name, "")) if order.promised else ""
        if limit and written(asked.work.base, int(ends[place])) > limit:
            return ()
    drawn = drawn_ends(cell, asked, best.schedule, seed)[:, -1]
    figures = (int(ends[-1]), dates.quantile(drawn, chance), chance)
    return (_row("others planned anew, nobody promised later", asked, figures, best, was),)


def _row(
    way: str,
    state: BegunCell,
    ends: tuple[int, int, float],
    best: FoundSchedule,
    was: tuple[int, int, int],
) -> OfferRow:
    loads, heats, money = was
    planned_end, likely, chance = ends
    return OfferRow(
        way=way,
        planned=written(state.work.base, planned_end),
        by=written(state.work.base, likely),
        chance=chance,
        new_loads=best.worth.loads - loads,
        new_heats=best.worth.heats - heats,
        added=(best.worth.money - money) / CENTS,
    )


def fixed_moved(
    fixed: Sequence[str], before: Sequence[PlannedBuild], after: Sequence[PlannedBuild]
) -> tuple[str, ...]:
    """A sentence on each fixed build that a new plan could not leave where it was."""
    was = {f"{row.order}/{row.build}": row for row in before}
    now = {f"{row.order}/{row.build}": row for row in after}
    return tuple(
        f"{name} is fixed and could not stay: it began {_place(was[name])}, now {_place(now[name])}"
        for name in fixed
        if name in was and name in now and _steps(was[name]) != _steps(now[name])
    )


def _place(row: PlannedBuild) -> str:
    return f"{row.starts.replace('T', ' ')} on {row.printer} and was ready {row.ready.replace('T', ' ')}"


def _steps(row: PlannedBuild) -> tuple[str, ...]:
    """Machine and start of each step."""
    prints, heats = (row.printer, row.starts), (row.oven, row.heated_from)
    return (*prints, *heats, row.crew, row.bench_from, row.furnace, row.fired_from)


def first_unplanned(orders: Sequence[AskedOrder], rows: Sequence[PlannedBuild]) -> str:
    """Name of an order of which a build is in no plan; "" if all are."""
    there = {(row.order, row.build) for row in rows}
    missing = [order.name for order in orders for one in order.builds if (order.name, one.label) not in there]
    return missing[0] if missing else ""
