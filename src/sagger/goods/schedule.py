"""When everything of a workload is done, and where: prints, heats, bench work and loads."""

from __future__ import annotations

from numpy import ndarray

from sagger.goods.good import good

UNPLACED = -1


@good
class RunRows:
    """Heats of ovens or loads of furnaces. int64 (k,)."""

    machine: ndarray  # which oven or furnace
    kind: ndarray  # programme or family
    start: ndarray  # [quarters]
    length: ndarray  # [quarters]


@good
class Schedule:
    """int64 arrays; UNPLACED where a build or portion has no place."""

    printer: ndarray  # (n,)
    start: ndarray  # (n,) of the print [quarters]
    heat: ndarray  # (n,) index into `heats`
    crew: ndarray  # (n,)
    bench: ndarray  # (n,) when bench work begins, on the crew's work clock [quarters]
    load: ndarray  # (m,) index into `loads`; UNPLACED for a portion that is not fired
    heats: RunRows
    loads: RunRows


@good
class Worth:
    """What a schedule is worth, in parts."""

    late: int  # weighted quarters of lateness
    orders_late: int
    loads: int
    heats: int
    changing: int  # quarters of change-over
    money: int  # of loads, heats and change-overs [unit of the prices]
    cost: int  # money + lateness at its price
    slack: int  # quarters before due dates, each counted up to a limit


@good
class Standing:
    """What is begun or promised to stay, as it stands in a schedule; the rest is free. bool arrays."""

    schedule: Schedule
    now: int  # nothing that is free begins before it [quarters]
    printed: ndarray  # (n,): the print stays
    heated: ndarray  # (n,): and its heat
    emptied: ndarray  # (n,): and its bench work
    fired: ndarray  # (m,): the load stays
    fixed: ndarray  # (n,): a person said that all of it stays, and it can


@good
class PlanningEffort:
    """How much work a plan may cost, in counted steps: the same effort gives the same plan."""

    trials: int = 20_000  # of the search on the order
    rounds: int = 12  # of the solver on a neighbourhood of builds
    work: float = 4.0  # of the solver, in each round and for the whole [its own deterministic seconds]
    nodes: int = 0  # of the search for a bound day by day, which takes minutes; 0 = no such bound
    seed: int = 1


@good
class FoundSchedule:
    """A schedule, what it is worth, and how far it may be from the best."""

    schedule: Schedule
    worth: Worth
    bound: int  # no schedule costs less
    bound_by: str  # what shows it, in words
    rule: str  # that the first plan came from
    trials: int  # orders tried
    rounds: int  # neighbourhoods solved
