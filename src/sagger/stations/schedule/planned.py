"""The verb: a workload and what stands in it become a schedule, as good as the effort allows."""

from __future__ import annotations

import math

from sagger.errors import StopError
from sagger.goods.schedule import FoundSchedule, PlanningEffort, Schedule, Standing
from sagger.goods.workload import Workload
from sagger.stations.schedule import grid
from sagger.stations.schedule.around import polished
from sagger.stations.schedule.attempts import first, made, pack, searched
from sagger.stations.schedule.bounds import alone_and_runs
from sagger.stations.schedule.checked import faults
from sagger.stations.schedule.earlier import earlier
from sagger.stations.schedule.enough import refuse_what_never_can
from sagger.stations.schedule.standing import nothing
from sagger.stations.schedule.worth import worth
from sagger.tick import Tick, silent

USUAL = PlanningEffort()


def plan(
    work: Workload, stands: Standing | None = None, effort: PlanningEffort = USUAL, *, tick: Tick = silent
) -> FoundSchedule:
    """The best schedule found, with a bound that none can undercut.

    Parameters
    ----------
    work : Workload
        What has to be done, and the cell.
    stands : Standing or None
        What is begun or promised to stay; None: the cell is empty.
    effort : PlanningEffort
        Counted in trials, not in seconds: the same effort gives the same schedule. A tick that hears "enough"
        keeps the best found so far.

    Raises
    ------
    StopError
        If a build never finds a place: no powder, no machine, nobody, or the calendar ends before.
    """
    begun = stands or nothing(work)
    refuse_what_never_can(work, begun)
    packed = pack(work, begun)
    found = first(packed)
    tick.say("first plan", 0, effort.trials)
    best, trials = searched(packed, found, effort, tick)
    schedule = made(packed, best)
    bound, shown = _bound(work, begun, effort, tick)
    rounds = 0
    if worth(work, schedule).cost > bound:
        better = polished(work, begun, schedule, bound, effort, tick)
        schedule, rounds = better.schedule, better.rounds
        if better.bound > bound:
            bound, shown = better.bound, "the whole problem in the solver"
    schedule = _with_slack(work, begun, schedule)
    return FoundSchedule(
        schedule=schedule,
        worth=worth(work, schedule),
        bound=bound,
        bound_by=shown,
        rule=best.rule,
        trials=trials,
        rounds=rounds,
    )


def _bound(work: Workload, begun: Standing, effort: PlanningEffort, tick: Tick) -> tuple[int, str]:
    """The better of two bounds: every build alone, and the cell day by day where nothing is begun."""
    least = alone_and_runs(work, begun)
    shown = "each build alone, and the heats and loads that the volume asks for"
    if effort.nodes and not begun.printed.any():
        tick.say("bounding day by day")
        daily = math.ceil(grid.bound(work, effort.nodes).bound - 1e-6)
        if daily > least:
            return daily, "the cell day by day"
    return least, shown


def _with_slack(work: Workload, begun: Standing, schedule: Schedule) -> Schedule:
    """The same schedule as early as may be, if it stays one."""
    wrong = faults(work, schedule, begun)
    if wrong:
        raise StopError(f"the schedule breaks a rule: {wrong[0]} (and {len(wrong) - 1} more)")
    moved = earlier(work, begun, schedule)
    same = worth(work, moved).cost <= worth(work, schedule).cost
    return moved if same and not faults(work, moved, begun) else schedule
