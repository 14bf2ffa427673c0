"""The same orders of work and the same batches, everything as early as it may be: slack before due dates."""

from __future__ import annotations

import dataclasses
import heapq
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.goods.schedule import Schedule, Standing
from sagger.goods.workload import Workload
from sagger.physics import workclock

PRINT, HEAT, BENCH, LOAD = range(4)


class Times(NamedTuple):
    """Starts being moved; bench work on the work clock."""

    start: ndarray
    heats: ndarray
    bench: ndarray
    loads: ndarray


class Held(NamedTuple):
    """When printers, ovens, furnaces, boxes and people are free again."""

    printer: dict[int, tuple[int, int]]  # free from, powder last
    oven: dict[int, int]
    furnace: dict[int, int]
    boxes: dict[int, list[int]]
    people: dict[int, list[int]]


def earlier(work: Workload, stands: Standing, schedule: Schedule) -> Schedule:
    """Every start as early as the orders of work on each machine allow; what stays does not move.

    Where powder is counted prints keep their starts: an earlier one might take what another needs. The limits
    of waiting are not looked at: check the answer, and keep the schedule it came from if one is broken.
    """
    times = Times(
        schedule.start.copy(), schedule.heats.start.copy(), schedule.bench.copy(), schedule.loads.start.copy()
    )
    held = Held({}, {}, {}, {}, {})
    for size, number in enumerate(work.boxes.number):
        held.boxes[size] = [0] * int(number)
    for crew, people in enumerate(work.crews.people):
        held.people[crew] = [0] * int(people)
    steps = {PRINT: _print, HEAT: _heat, BENCH: _bench, LOAD: _load}
    for _, kind, number in _in_order(work, schedule):
        steps[kind](work, stands, schedule, (times, held), number)
    return dataclasses.replace(
        schedule,
        start=times.start,
        bench=times.bench,
        heats=dataclasses.replace(schedule.heats, start=times.heats),
        loads=dataclasses.replace(schedule.loads, start=times.loads),
    )


def _in_order(work: Workload, schedule: Schedule) -> list[tuple[int, int, int]]:
    """Every operation by its planned start: moment, kind, number."""
    rows = [(int(at), PRINT, build) for build, at in enumerate(schedule.start)]
    rows += [(int(at), HEAT, run) for run, at in enumerate(schedule.heats.start)]
    for build, (crew, at) in enumerate(zip(schedule.crew, schedule.bench, strict=True)):
        rows.append((int(workclock.moment(work.crews.clocks[crew], at)), BENCH, build))
    rows += [(int(at), LOAD, run) for run, at in enumerate(schedule.loads.start)]
    return sorted(rows)


Moving = tuple[Times, Held]


def _print(work: Workload, stands: Standing, schedule: Schedule, moving: Moving, build: int) -> None:
    times, held = moving
    printer, powder = int(schedule.printer[build]), int(work.builds.powder[build])
    holds = int(work.printers.holds[printer])
    free, last = held.printer.get(printer, (0, holds))
    change = int(work.printers.change[last, powder]) if last >= 0 else 0
    box = heapq.heappop(held.boxes[int(work.builds.box[build])])
    if not stands.printed[build]:
        at = max(int(work.builds.release[build]), stands.now, free + change, box)
        length = int(work.builds.printing[build])
        at = _clear(work, printer, int(work.printers.starts[at]), length, work.printers.starts)
        if work.stock.counted[powder]:
            at = max(at, int(times.start[build]))
        times.start[build] = at
    held.printer[printer] = int(times.start[build]) + int(work.builds.printing[build]), powder


def _heat(work: Workload, stands: Standing, schedule: Schedule, moving: Moving, heat: int) -> None:
    times, held = moving
    mine = schedule.heat == heat
    oven, length = int(schedule.heats.machine[heat]), int(schedule.heats.length[heat])
    if not (mine & stands.heated).any():
        printed = int((times.start + work.builds.printing)[mine].max())
        at = int(work.ovens.starts[max(printed, stands.now, held.oven.get(oven, 0))])
        machine = len(work.printers.holds) + oven
        times.heats[heat] = _clear(work, machine, at, length, work.ovens.starts)
    held.oven[oven] = int(times.heats[heat]) + length


def _bench(work: Workload, stands: Standing, schedule: Schedule, moving: Moving, build: int) -> None:
    times, held = moving
    crew, heat = int(schedule.crew[build]), int(schedule.heat[build])
    clock, hands = work.crews.clocks[crew], int(work.builds.hands[build])
    person = heapq.heappop(held.people[crew])
    if not stands.emptied[build]:
        opened = int(times.heats[heat] + schedule.heats.length[heat])
        times.bench[build] = max(int(workclock.worked(clock, max(opened, stands.now))), person)
    end = int(times.bench[build]) + hands
    heapq.heappush(held.people[crew], end)
    heapq.heappush(held.boxes[int(work.builds.box[build])], int(workclock.finish(clock, end)))


def _load(work: Workload, stands: Standing, schedule: Schedule, moving: Moving, load: int) -> None:
    times, held = moving
    mine = schedule.load == load
    furnace, length = int(schedule.loads.machine[load]), int(schedule.loads.length[load])
    if not (mine & stands.fired).any():
        ready = stands.now
        for build in np.unique(work.portions.build[mine]):
            clock = work.crews.clocks[schedule.crew[build]]
            ready = max(ready, int(workclock.finish(clock, times.bench[build] + work.builds.hands[build])))
        at = int(work.furnaces.starts[max(ready, held.furnace.get(furnace, 0))])
        machine = len(work.printers.holds) + len(work.ovens.room) + furnace
        times.loads[load] = _clear(work, machine, at, length, work.furnaces.starts)
    held.furnace[furnace] = int(times.loads[load]) + length


def _clear(work: Workload, machine: int, at: int, length: int, starts: ndarray) -> int:
    """First start not before `at` of a run that meets no standstill of its machine."""
    blocks = work.blocks
    for place in np.argsort(blocks.begins, kind="stable"):
        begins, ends = int(blocks.begins[place]), int(blocks.ends[place])
        if blocks.machine[place] == machine and at < ends and at + length > begins:
            at = int(starts[ends])
    return at
