"""A dozen builds that meet, solved anew beside all others: neighbourhoods of a schedule."""

from __future__ import annotations

import dataclasses
import random
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.goods.schedule import PlanningEffort, Schedule, Standing
from sagger.goods.shift import DAY
from sagger.goods.workload import Workload
from sagger.stations.schedule.answer import hint, read
from sagger.stations.schedule.model import whole_or_part
from sagger.stations.schedule.solver import solved
from sagger.stations.schedule.worth import order_ends, portion_ends, worth
from sagger.tick import Tick

SIZE, LEAST, MOST = 12, 6, 24  # builds of a neighbourhood
WHOLE = 25  # so many builds and fewer are solved at once
AFTER = 3 * DAY  # a free build may begin so much later than any of them ends now


class Polished(NamedTuple):
    """What the solver made of a schedule."""

    schedule: Schedule
    rounds: int
    proven: bool  # everything was free, and none is better
    bound: int  # by the solver, where everything was free; else 0


def polished(
    work: Workload, stands: Standing, schedule: Schedule, bound: int, effort: PlanningEffort, tick: Tick
) -> Polished:
    """A schedule that is no worse, by solving neighbourhoods; all at once where there are few builds.

    `bound` is known: the search ends where it is met.
    """
    free = np.flatnonzero(~_done(work, stands))
    if not len(free):
        return Polished(schedule, 0, False, 0)
    if len(free) <= WHOLE:
        return _whole(work, stands, schedule, bound, effort, tick)
    luck, size, cost = random.Random(effort.seed), SIZE, worth(work, schedule).cost
    rounds = 0
    for rounds in tick.until_enough(range(1, effort.rounds + 1)):
        if cost <= bound:
            break
        tick.best = f"cost {cost}"
        tick.say("solving builds that meet", rounds, effort.rounds)
        mates = chosen(work, schedule, free, size, luck)
        answer, proven = solve_around(work, stands, schedule, mates, effort.work / 4, luck.randrange(1 << 30))
        if answer is not None:
            new = worth(work, answer).cost
            if new <= cost:
                schedule, cost = answer, new
        size = min(MOST, size + 1) if proven else max(LEAST, size - 1)
    return Polished(schedule, rounds, False, 0)


def _done(work: Workload, stands: Standing) -> ndarray:
    """Builds of which nothing is free any more."""
    done = stands.emptied.copy()
    done[work.portions.build[~stands.fired & (work.portions.family >= 0)]] = False
    return done


def _whole(
    work: Workload, stands: Standing, schedule: Schedule, bound: int, effort: PlanningEffort, tick: Tick
) -> Polished:
    if not effort.rounds:
        return Polished(schedule, 0, False, 0)
    last = _last(work, int(order_ends(work, schedule).max()))
    cell = whole_or_part(work, stands, last)
    hint(cell, schedule)
    cell.scope.model.add_linear_constraint(cell.cost, bound, worth(work, schedule).cost)
    answer = solved(cell.scope.model, effort.work * effort.rounds, effort.seed, tick=tick)
    best = read(cell, answer) if answer.found else schedule
    return Polished(best, 1, answer.found and answer.proven, answer.bound if answer.found else 0)


def _last(work: Workload, end: int) -> int:
    """A free build may begin so late; never beyond the calendar."""
    return min(end + AFTER, len(work.printers.starts) - 1)


def chosen(work: Workload, schedule: Schedule, free: ndarray, size: int, luck: random.Random) -> ndarray:
    """Builds that meet: around a late one more often than around any, with its load mates."""
    late = order_ends(work, schedule) > work.wishes.due
    of_late = np.intersect1d(work.portions.build[late[work.portions.order]], free)
    around = int(luck.choice(list(of_late if len(of_late) and luck.random() < 0.6 else free)))
    apart = np.abs(schedule.start[free] - schedule.start[around]).astype(float)
    if luck.random() < 0.3:  # those of its powder stay nearer: they share its loads
        apart[work.builds.powder[free] == work.builds.powder[around]] *= 0.3
    near = free[np.argsort(apart, kind="stable")][:size]
    loads = schedule.load[work.portions.build == around]
    mates = work.portions.build[np.isin(schedule.load, loads[loads >= 0])]
    return np.union1d(near, np.intersect1d(mates, free))


def solve_around(
    work: Workload, stands: Standing, schedule: Schedule, mates: ndarray, effort: float, seed: int
) -> tuple[Schedule | None, bool]:
    """The schedule with these builds solved anew, no dearer than before; and whether none is better."""
    others = np.ones(len(schedule.start), bool)
    others[mates] = False
    rest = dataclasses.replace(
        stands,
        schedule=schedule,
        printed=stands.printed | others,
        heated=stands.heated | others,
        emptied=stands.emptied | others,
        fired=stands.fired | others[work.portions.build],
    )
    mine = np.isin(work.portions.build, mates)
    last = _last(work, int(portion_ends(work, schedule)[mine].max()))
    cell = whole_or_part(work, rest, last)
    hint(cell, schedule)
    cell.scope.model.add(cell.cost <= worth(work, schedule).cost)
    answer = solved(cell.scope.model, effort, seed)
    return (read(cell, answer) if answer.found else None), answer.proven
