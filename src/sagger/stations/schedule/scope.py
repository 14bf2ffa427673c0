"""What a constraint model of the cell is about, and what its parts hand to each other."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from sagger.goods.schedule import Standing
from sagger.goods.workload import NOT_FIRED, Workload
from sagger.physics import workclock
from sagger.stations.schedule.calendars import Bench
from sagger.stations.schedule.solver import Batches, MachineRow, new_model

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

    Linear = cp_model.LinearExprT
    Literal = cp_model.IntVar
    Interval = cp_model.IntervalVar


class Scope(NamedTuple):
    """What a model is about."""

    work: Workload
    stands: Standing
    model: cp_model.CpModel
    builds: tuple[int, ...]  # with anything free
    portions: tuple[int, ...]  # not fired yet, of these builds
    first: int  # nothing free begins before
    last: int  # nothing free begins after


class BatchRows(NamedTuple):
    """Heats or loads of a model: those that stand and may be joined, and new ones."""

    joins: dict[tuple[int, int], Literal]  # (member, standing run)
    batches: Batches
    start: dict[int, Literal]  # by opener
    on: dict[int, dict[int, Literal]]  # by opener, by machine


class CellModel(NamedTuple):
    """The model, and where to read what in it."""

    scope: Scope
    prints: dict[int, MachineRow]
    heats: BatchRows
    benches: dict[int, Bench]
    loads: BatchRows
    late: dict[int, Literal]  # quarters, by order
    cost: Linear


def scope_of(work: Workload, stands: Standing, last: int) -> Scope:
    """The builds and portions of which anything is free."""
    portions = work.portions
    unfired = np.flatnonzero(~stands.fired & (portions.family != NOT_FIRED))
    open_builds = ~stands.emptied
    open_builds[portions.build[unfired]] = True
    builds = np.flatnonzero(open_builds)
    begins = np.where(stands.printed, 0, work.builds.release)[builds]
    first = max(stands.now, int(begins.min()) if len(begins) else 0)
    kept = tuple(int(each) for each in builds), tuple(int(each) for each in unfired)
    return Scope(work, stands, new_model(), *kept, first, last)


def standstills(scope: Scope, machine: int) -> list[Interval]:
    """Stretches in which a machine stands."""
    blocks = scope.work.blocks
    mine = blocks.machine == machine
    pairs = zip(blocks.begins[mine], blocks.ends[mine], strict=True)
    return [scope.model.new_fixed_size_interval_var(int(a), int(b - a), "") for a, b in pairs]


def emptied_at(work: Workload, stands: Standing) -> dict[int, int]:
    """When the bench work ends that stays, by build."""
    ends = {}
    for build in np.flatnonzero(stands.emptied):
        clock = work.crews.clocks[stands.schedule.crew[build]]
        end = workclock.finish(clock, stands.schedule.bench[build] + work.builds.hands[build])
        ends[int(build)] = int(end)
    return ends
