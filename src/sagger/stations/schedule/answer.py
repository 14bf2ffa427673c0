"""A schedule into a model as its hint, and an answer of the solver into a schedule."""

from __future__ import annotations

import numpy as np

from sagger.goods.schedule import UNPLACED, RunRows, Schedule
from sagger.physics import workclock
from sagger.stations.schedule.calendars import Bench
from sagger.stations.schedule.scope import BatchRows, CellModel
from sagger.stations.schedule.solver import SolverAnswer


def hint(cell: CellModel, schedule: Schedule) -> None:
    """Give the solver a whole schedule to begin with."""
    scope, model = cell.scope, cell.scope.model
    for build, row in cell.prints.items():
        model.add_hint(row.start, int(schedule.start[build]))
        for machine, on in zip(row.machine, row.on, strict=True):
            model.add_hint(on, machine == schedule.printer[build])
    _hint_runs(cell, cell.heats, schedule.heat, schedule.heats, scope.stands.heated)
    _hint_runs(cell, cell.loads, schedule.load, schedule.loads, scope.stands.fired)
    for build, bench in cell.benches.items():
        _hint_bench(cell, build, bench, schedule)


def _hint_bench(cell: CellModel, build: int, bench: Bench, schedule: Schedule) -> None:
    model, work = cell.scope.model, cell.scope.work
    crew, begin = int(schedule.crew[build]), int(schedule.bench[build])
    clock, hands = work.crews.clocks[crew], int(work.builds.hands[build])
    model.add_hint(bench.begins, int(workclock.moment(clock, begin)))
    model.add_hint(bench.ends, int(workclock.finish(clock, begin + hands)))
    if crew in bench.work:
        model.add_hint(bench.work[crew], begin)
    for each, on in bench.on.items():
        model.add_hint(on, each == crew)


def _hint_runs(cell: CellModel, rows: BatchRows, run: np.ndarray, runs: RunRows, stays: np.ndarray) -> None:
    model, old = cell.scope.model, cell.scope.stands
    was = old.schedule.heat if stays is old.heated else old.schedule.load
    members = rows.batches.members
    standing = {int(was[member]): int(run[member]) for member in np.flatnonzero(stays)}
    for member in members:
        mine = int(run[member])
        joined = [other for other, new in standing.items() if new == mine and (member, other) in rows.joins]
        opener = min(other for other in members if run[other] == mine)
        for (other, standing_run), join in rows.joins.items():
            if other == member:
                model.add_hint(join, standing_run in joined)
        for other in members:
            if (member, other) in rows.batches.rides:
                model.add_hint(rows.batches.rides[member, other], not joined and other == opener)
        for machine, on in rows.on[member].items():
            model.add_hint(on, not joined and opener == member and machine == runs.machine[mine])
        if not joined and opener == member:
            model.add_hint(rows.start[member], int(runs.start[mine]))


def read(cell: CellModel, answer: SolverAnswer) -> Schedule:
    """The schedule that the solver found, with what stays."""
    scope, old = cell.scope, cell.scope.stands.schedule
    printer, start = old.printer.copy(), old.start.copy()
    crew, bench = old.crew.copy(), old.bench.copy()
    stands = scope.stands
    for row in (printer, start):
        row[~stands.printed] = UNPLACED
    for row in (crew, bench):
        row[~stands.emptied] = UNPLACED
    for build, print_row in cell.prints.items():
        start[build] = answer.read(print_row.start)
        on = [answer.read(literal) for literal in print_row.on]
        printer[build] = print_row.machine[on.index(1)]
    for build, bench_row in cell.benches.items():
        crew[build] = next(
            (c for c, on in bench_row.on.items() if answer.read(on)), next(iter(bench_row.work))
        )
        bench[build] = answer.read(bench_row.work[int(crew[build])])
    work = scope.work
    heat, heats = _runs(
        answer, cell.heats, old.heat, old.heats, (stands.heated, work.builds.programme, work.ovens.length)
    )
    kinds = (stands.fired, work.portions.family, work.furnaces.length)
    load, loads = _runs(answer, cell.loads, old.load, old.loads, kinds)
    return Schedule(
        printer=printer, start=start, heat=heat, crew=crew, bench=bench, load=load, heats=heats, loads=loads
    )


def _runs(
    answer: SolverAnswer,
    rows: BatchRows,
    was: np.ndarray,
    old: RunRows,
    kinds: tuple[np.ndarray, np.ndarray, np.ndarray],
) -> tuple[np.ndarray, RunRows]:
    """Which run each member is in, and all runs: those that stay first."""
    stays, kind, length = kinds
    run = np.full(len(was), UNPLACED, np.int64)
    staying = sorted({int(number) for number in was[stays]})
    run[stays] = np.searchsorted(staying, was[stays])
    made = [[int(getattr(old, name)[number]) for name in _FIELDS] for number in staying]
    for (member, standing), join in rows.joins.items():
        if answer.read(join):
            run[member] = staying.index(standing)
    for opener in rows.batches.members:
        if answer.read(rows.batches.opened(opener)):
            for member in rows.batches.of(opener):
                if answer.read(rows.batches.rides[member, opener]):
                    run[member] = len(made)
            machine = next(one for one, on in rows.on[opener].items() if answer.read(on))
            start = answer.read(rows.start[opener])
            made.append([machine, int(kind[opener]), start, int(length[kind[opener]])])
    table = np.array(made, np.int64).reshape(-1, 4).T
    return run, RunRows(machine=table[0], kind=table[1], start=table[2], length=table[3])


_FIELDS = ("machine", "kind", "start", "length")
