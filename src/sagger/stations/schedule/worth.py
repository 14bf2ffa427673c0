"""What a schedule is worth, in parts; and schedules out of and into the compiled part."""

from __future__ import annotations

import numpy as np

from sagger.compiled import lean
from sagger.goods.schedule import UNPLACED, RunRows, Schedule, Worth
from sagger.goods.workload import NOT_FIRED, Workload
from sagger.physics import workclock
from sagger.stations.schedule.packed import Asked, CellRows, Working

SLACK_MOST = 192  # more than two days before its due date an order gains nothing [quarters]


def freed(work: Workload, schedule: Schedule) -> np.ndarray:
    """Moment at which each build's box is empty, int64 (n,)."""
    ends = np.zeros(len(schedule.bench), np.int64)
    for crew, clock in enumerate(work.crews.clocks):
        mine = schedule.crew == crew
        ends[mine] = workclock.finish(clock, schedule.bench[mine] + work.builds.hands[mine])
    return ends


def portion_ends(work: Workload, schedule: Schedule) -> np.ndarray:
    """Moment at which each portion is unloaded, or its box empty where it is not fired, int64 (m,)."""
    fired = work.portions.family != NOT_FIRED
    ends: np.ndarray = freed(work, schedule)[work.portions.build]
    loads = schedule.loads
    ends[fired] = (loads.start + loads.length)[schedule.load[fired]]
    return ends


def order_ends(work: Workload, schedule: Schedule) -> np.ndarray:
    """Moment at which the last portion of each order is ready, int64 (o,)."""
    ends = np.zeros(len(work.wishes.due), np.int64)
    np.maximum.at(ends, work.portions.order, portion_ends(work, schedule))
    return ends


def change_over(work: Workload, schedule: Schedule) -> int:
    """Quarters of change-over between prints."""
    total, powder = 0, work.builds.powder
    for printer, held in enumerate(work.printers.holds):
        mine = np.flatnonzero(schedule.printer == printer)
        mine = powder[mine[np.argsort(schedule.start[mine], kind="stable")]]
        row = np.concatenate(([held] if held >= 0 else [], mine)).astype(np.int64)
        total += int(work.printers.change[row[:-1], row[1:]].sum())
    return total


def worth(work: Workload, schedule: Schedule) -> Worth:
    """The parts of the objective, from the times alone."""
    ends, prices = order_ends(work, schedule), work.prices
    over = ends - work.wishes.due
    late = int((work.wishes.weight * np.maximum(0, over)).sum())
    changing = change_over(work, schedule)
    money = int(prices.firing[schedule.loads.machine].sum() + prices.heating[schedule.heats.machine].sum())
    money += prices.changing * changing
    return Worth(
        late=late,
        orders_late=int((over > 0).sum()),
        loads=len(schedule.loads.start),
        heats=len(schedule.heats.start),
        changing=changing,
        money=money,
        cost=money + prices.late * late,
        slack=int(np.clip(-over, 0, SLACK_MOST).sum()),
    )


@lean
def rank(asked: Asked, cell: CellRows, working: Working) -> tuple[int, int]:
    """Cost of a schedule in the making, and its slack."""
    cost, slack = 0, 0
    for order in range(len(asked.due)):
        over = working.ready[order] - asked.due[order]
        if over > 0:
            cost += cell.late * asked.weight[order] * over
        else:
            slack += min(-over, SLACK_MOST)
    for load in range(working.number[1]):
        cost += cell.firing[working.loads[0, load]]
    for heat in range(working.number[0]):
        cost += cell.heating[working.heats[0, heat]]
    if cell.changing:
        for printer in range(len(cell.holds)):
            held = cell.holds[printer]
            for place in range(working.busy[printer]):
                mark = working.marks[printer, place]
                if mark >= 0:
                    cost += cell.changing * cell.change[held, mark] if held >= 0 else 0
                    held = mark
    return cost, slack


def schedule_of(cell: CellRows, working: Working) -> Schedule:
    """The schedule that was made."""
    person, heats, loads = working.person, working.number[0], working.number[1]
    crew = np.where(person >= 0, cell.person_crew[person], UNPLACED)
    return Schedule(
        printer=working.printer.copy(),
        start=working.start.copy(),
        heat=working.heat.copy(),
        crew=crew,
        bench=working.bench.copy(),
        load=working.load.copy(),
        heats=_runs(working.heats[:4, :heats]),
        loads=_runs(working.loads[:4, :loads]),
    )


def _runs(rows: np.ndarray) -> RunRows:
    machine, kind, start, length = rows.copy()
    return RunRows(machine=machine, kind=kind, start=start, length=length)
