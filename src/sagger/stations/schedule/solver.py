"""The constraint solver, and the parts that models of machines and batches are made of.

All searches run on one worker with a seed and a limit of the solver's own deterministic time: the same model
gives the same answer on any machine.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor, wait
from typing import TYPE_CHECKING, NamedTuple

from numpy import ndarray

from sagger.tick import Tick, silent

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

LOOK = 0.1  # seconds between two looks at whether somebody says enough


class SolverAnswer(NamedTuple):
    """What the solver found."""

    found: bool
    proven: bool  # none better, or none at all
    value: int  # of the objective; 0 if nothing was found
    bound: int
    read: Callable[[cp_model.LinearExprT], int]  # value of a variable; only if something was found


class MachineRow(NamedTuple):
    """A task that one of several machines does."""

    start: cp_model.IntVar
    end: cp_model.LinearExprT
    length: tuple[int, ...]  # by machine that may do it
    machine: tuple[int, ...]
    on: tuple[cp_model.IntVar, ...]


def new_model() -> cp_model.CpModel:
    """An empty model; the library loads here, not with the program."""
    from ortools.sat.python import cp_model

    return cp_model.CpModel()


def solved(
    model: cp_model.CpModel, work: float, seed: int = 1, workers: int = 1, tick: Tick = silent
) -> SolverAnswer:
    """The best answer within a limit of deterministic work, or until somebody says that it will do.

    Parameters
    ----------
    work : float
        About as many seconds on an idle machine; counted, not timed.
    workers : int
        More than one makes another, unrepeatable search: for benchmarks.
    """
    from ortools.sat.python import cp_model

    solver = cp_model.CpSolver()
    solver.parameters.max_deterministic_time = work
    solver.parameters.random_seed = seed
    solver.parameters.num_workers = workers
    with ThreadPoolExecutor(1) as beside:
        running = beside.submit(solver.solve, model)
        _watch(running, solver, tick)
        status = running.result()
    feasible = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    return SolverAnswer(
        found=feasible,
        proven=status in (cp_model.OPTIMAL, cp_model.INFEASIBLE),
        value=round(solver.objective_value) if feasible else 0,
        bound=round(solver.best_objective_bound),
        read=lambda what: int(solver.value(what)),
    )


def _watch(running: Future[cp_model.CpSolverStatus], solver: cp_model.CpSolver, tick: Tick) -> None:
    """Until the search ends, or somebody says stop or enough."""
    try:
        for _ in tick.until_enough(iter(running.done, True)):
            wait([running], timeout=LOOK)
            tick.say("solving all builds at once")
    finally:
        while not running.done():  # a search that has not begun yet does not hear it
            solver.stop_search()
            wait([running], timeout=LOOK)


def windows(allowed: ndarray, first: int, last: int) -> cp_model.Domain:
    """The moments from `first` to `last` at which a table of first starts allows one."""
    from ortools.sat.python import cp_model

    at = max(first, 0)
    rows = []
    while at <= last and (at := int(allowed[at])) <= last:
        end = at
        while end < last and allowed[end + 1] == end + 1:
            end += 1
        rows.append([at, end])
        at = end + 1
    return cp_model.Domain.from_intervals(rows)


def alternative(
    model: cp_model.CpModel, start: cp_model.IntVar, options: Sequence[tuple[int, int]], last: int
) -> tuple[MachineRow, list[cp_model.IntervalVar]]:
    """A task that is done once, on one of some machines, each with its own length.

    The length stands as a linear row beside the optional intervals: without it the relaxation knows of no
    duration at all.
    """
    lengths = {length for _, length in options}
    on = [model.new_bool_var("") for _ in options]
    model.add_exactly_one(on)
    if len(lengths) == 1:
        end: cp_model.LinearExprT = start + lengths.pop()
    else:
        end = model.new_int_var(0, last, "")
        model.add(end == start + sum(length * here for (_, length), here in zip(options, on, strict=True)))
    rows = [
        model.new_optional_interval_var(start, length, end, here, "")
        for (_, length), here in zip(options, on, strict=True)
    ]
    machine, length = zip(*options, strict=True)
    return MachineRow(start, end, length, machine, tuple(on)), rows


class Batches(NamedTuple):
    """Who rides with whom: the first member of a batch, by number, opens it and stands for it."""

    rides: dict[tuple[int, int], cp_model.IntVar]  # (member, opener)
    members: tuple[int, ...]

    def opened(self, by: int) -> cp_model.IntVar:
        return self.rides[by, by]

    def of(self, opener: int) -> list[int]:
        return [member for member in self.members if (member, opener) in self.rides]


def batches(
    model: cp_model.CpModel,
    members: Iterable[int],
    may_share: Callable[[int, int], bool],
    others: dict[int, list[cp_model.IntVar]],
) -> Batches:
    """Batches of members that may share one, each opened by its first member: no batch has two copies.

    Parameters
    ----------
    others : dict
        For a member, literals of batches that stand already and that it may ride in instead.
    """
    members = tuple(members)
    rides = {
        (member, opener): model.new_bool_var("")
        for place, member in enumerate(members)
        for opener in members[: place + 1]
        if member == opener or may_share(member, opener)
    }
    for member in members:
        own = [rides[member, opener] for opener in members if (member, opener) in rides]
        model.add_exactly_one(own + others.get(member, []))
    for (member, opener), ride in rides.items():
        if member != opener:
            model.add_implication(ride, rides[opener, opener])
    return Batches(rides, members)
