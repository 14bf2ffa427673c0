"""A plan played through with drawn durations, all samples at once, as a shop keeps it.

Every machine does its work in the planned order, as soon as it can. A heat or load leaves at its planned
time, or when the first of its members is there; it waits a little for late ones and goes without them. Who
is late rides with the next one planned that has room, or alone where the planned timetable has a gap,
whichever comes first. What is begun stays as it is.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.goods.schedule import RunRows, Schedule, Standing
from sagger.goods.shift import NEVER
from sagger.goods.workload import NOT_FIRED, Furnaces, Ovens, Workload
from sagger.physics import workclock
from sagger.stations.dates.durations import Drawn

PRINT, HEAT, BENCH, LOAD = range(4)


class Play(NamedTuple):
    """What is played, and where everything is in each sample."""

    work: Workload
    stands: Standing
    schedule: Schedule
    drawn: Drawn
    patience: int  # quarters that a run waits for a late member
    printer: ndarray  # (samples, printers): free from
    boxes: list[ndarray]  # by size (samples, boxes): free from
    people: list[ndarray]  # by crew (samples, people): free from, on their work clock
    held: ndarray  # (samples, n): which box each build has
    printed: ndarray  # (samples, n)
    opened: ndarray
    freed: ndarray
    ready: ndarray  # (samples, m)
    late: ndarray  # bool (samples, n): the box missed its heat
    runs: dict[tuple[int, int], ndarray]  # by stage and machine (samples,): free from


def order_ends_drawn(
    work: Workload, stands: Standing, schedule: Schedule, durations: Drawn, patience: int
) -> ndarray:
    """When each order is ready in each sample, int64 (samples, orders) [quarters]."""
    samples, count = durations.printing.shape
    zero = np.zeros((samples, count), np.int64)
    play = Play(
        work=work,
        stands=stands,
        schedule=schedule,
        drawn=durations,
        patience=patience,
        printer=np.zeros((samples, len(work.printers.holds)), np.int64),
        boxes=[np.zeros((samples, int(number)), np.int64) for number in work.boxes.number],
        people=[np.zeros((samples, int(people)), np.int64) for people in work.crews.people],
        held=zero.copy(),
        printed=zero.copy(),
        opened=zero.copy(),
        freed=zero.copy(),
        ready=np.zeros((samples, len(work.portions.build)), np.int64),
        late=np.zeros((samples, count), bool),
        runs={},
    )
    last: dict[int, int] = {printer: int(held) for printer, held in enumerate(work.printers.holds)}
    for _, kind, number in _in_order(work, schedule):
        if kind == PRINT:
            _print(play, number, last)
        elif kind == BENCH:
            _bench(play, number)
        else:
            _run(play, kind, number)
    bare = work.portions.family == NOT_FIRED
    play.ready[:, bare] = play.freed[:, work.portions.build[bare]]
    ends = np.zeros((samples, len(work.wishes.due)), np.int64)
    for portion, order in enumerate(work.portions.order):
        ends[:, order] = np.maximum(ends[:, order], play.ready[:, portion])
    return ends


def quantile(ends: ndarray, chance: float, weights: ndarray | None = None) -> int:
    """The earliest moment by which at least this share of samples is ready.

    Source
    ------
    Definition of the quantile as order statistic, never between two samples: dates come in steps.
    """
    order = np.argsort(ends, kind="stable")
    share = np.ones(len(ends)) if weights is None else np.asarray(weights, float)
    reached = np.cumsum(share[order]) / share.sum()
    return int(ends[order][int(np.searchsorted(reached, chance - 1e-12))])


def _in_order(work: Workload, schedule: Schedule) -> list[tuple[int, int, int]]:
    """Every step by its planned start: moment, kind, number."""
    rows = [(int(at), PRINT, build) for build, at in enumerate(schedule.start)]
    rows += [(int(schedule.heats.start[run]), HEAT, int(run)) for run in np.unique(schedule.heat)]
    for build, (crew, at) in enumerate(zip(schedule.crew, schedule.bench, strict=True)):
        rows.append((int(workclock.moment(work.crews.clocks[crew], at)), BENCH, build))
    fired = np.unique(schedule.load[schedule.load >= 0])
    rows += [(int(schedule.loads.start[run]), LOAD, int(run)) for run in fired]
    return sorted(rows)


def _print(play: Play, build: int, last: dict[int, int]) -> None:
    work, builds = play.work, play.work.builds
    printer, powder = int(play.schedule.printer[build]), int(builds.powder[build])
    change = int(work.printers.change[last[printer], powder]) if last[printer] >= 0 else 0
    last[printer] = powder
    free = play.boxes[int(builds.box[build])]
    mine, rows = free.argmin(axis=1), np.arange(len(free))
    length = play.drawn.printing[:, build]
    if play.stands.printed[build]:
        start = np.full(len(free), play.schedule.start[build])
        end = np.maximum(start + length, play.stands.now) if play.stands.now else start + length
        if play.stands.heated[build]:
            end = start + int(builds.printing[build])
    else:
        at = np.maximum(play.printer[:, printer] + change, free[rows, mine])
        at = np.maximum(at, max(int(builds.release[build]), play.stands.now))
        start = _clear(work, printer, _first(work.printers.starts, at), length, work.printers.starts)
        end = start + length
    play.printer[:, printer] = end
    play.printed[:, build] = end
    play.held[:, build] = mine
    free[rows, mine] = NEVER  # until it is emptied


def _run(play: Play, kind: int, run: int) -> None:
    """A heat or a load leaves, and late members go another way."""
    work, stands, schedule = play.work, play.stands, play.schedule
    cell: Ovens | Furnaces
    if kind == HEAT:
        rows, cell, member, offset = schedule.heats, work.ovens, schedule.heat, len(work.printers.holds)
        ready, done, stays = play.printed, play.opened, stands.heated
    else:
        rows, cell, member = schedule.loads, work.furnaces, schedule.load
        offset = len(work.printers.holds) + len(work.ovens.room)
        ready, done, stays = play.freed[:, work.portions.build], play.ready, stands.fired
    mine = np.flatnonzero(member == run)
    machine, length = int(rows.machine[run]), int(rows.length[run])
    if stays[mine].any():
        done[:, mine] = int(rows.start[run]) + length
        play.runs[kind, machine] = np.full(len(done), int(rows.start[run]) + length)
        if stays[mine].all():
            return
    free = play.runs.get((kind, machine), np.zeros(len(done), np.int64))
    there = ready[:, mine]
    planned = np.full(len(done), max(int(rows.start[run]), stands.now))
    soonest = np.maximum(np.maximum(planned, free), there.min(axis=1))
    waits = np.where(there <= soonest[:, None] + play.patience, there, 0).max(axis=1)
    leaves = _first(cell.starts, np.maximum(soonest, waits))
    leaves = _clear(work, offset + machine, leaves, np.full(len(done), length), cell.starts)
    missed = there > leaves[:, None]
    other = _other_way(play, kind, run, there)
    done[:, mine] = np.where(missed, other, leaves[:, None]) + length
    if kind == HEAT:
        play.late[:, mine] = missed
    play.runs[kind, machine] = leaves + length


def _other_way(play: Play, kind: int, run: int, ready: ndarray) -> ndarray:
    """When who is late leaves: with the next planned run that has room, or alone in a planned gap."""
    work, schedule = play.work, play.schedule
    rows, cell = (schedule.heats, work.ovens) if kind == HEAT else (schedule.loads, work.furnaces)
    sizes = work.builds.room if kind == HEAT else work.portions.shelves
    member = schedule.heat if kind == HEAT else schedule.load
    programme, last = int(rows.kind[run]), len(cell.starts) - 1
    gap = _gaps(rows, cell.starts, cell.may[:, programme], int(rows.length[run]), member)
    joined = np.full(len(cell.starts), NEVER)
    for other in np.unique(member[member >= 0]):
        taken = int(sizes[member == other].sum())
        if rows.kind[other] == programme and other != run and taken < cell.room[rows.machine[other]]:
            joined[int(rows.start[other])] = int(rows.start[other])
    joined = np.minimum.accumulate(joined[::-1])[::-1]
    at = np.minimum(ready, last)
    return np.asarray(np.minimum(gap[at], joined[at]))


def _gaps(rows: RunRows, starts: ndarray, may: ndarray, length: int, member: ndarray) -> ndarray:
    """First start not before each moment that meets no planned run of some machine that may do it."""
    best = np.full(len(starts), NEVER)
    used = np.unique(member[member >= 0])
    for machine in np.flatnonzero(may):
        busy = np.zeros(len(starts) + 1, bool)
        for run in used[rows.machine[used] == machine]:
            busy[max(0, int(rows.start[run]) - length + 1) : int(rows.start[run] + rows.length[run])] = True
        places = np.arange(len(starts))
        allowed = np.where((starts == places) & ~busy[:-1], places, NEVER)
        best = np.minimum(best, np.minimum.accumulate(allowed[::-1])[::-1])
    return best


def _bench(play: Play, build: int) -> None:
    """In the planned order by who is free first; a box that missed its heat keeps nobody waiting."""
    work, stands = play.work, play.stands
    crew = int(play.schedule.crew[build])
    clock, hands = work.crews.clocks[crew], play.drawn.hands[:, build]
    person = play.people[crew]
    rows, mine = np.arange(len(person)), person.argmin(axis=1)
    last = len(clock.worked) - 1
    arrives = workclock.worked(clock, np.minimum(np.maximum(play.opened[:, build], stands.now), last))
    begins = np.maximum(arrives, person[rows, mine])
    if stands.emptied[build]:
        begins = np.full(len(rows), play.schedule.bench[build])
    begins = np.where(play.late[:, build], arrives, begins)
    ends = np.minimum(begins + hands, len(clock.moments) - 1)
    person[rows, mine] = np.where(play.late[:, build], person[rows, mine], ends)
    freed = workclock.finish(clock, ends)
    play.freed[:, build] = freed
    play.boxes[int(work.builds.box[build])][rows, play.held[:, build]] = freed


def _first(starts: ndarray, at: ndarray) -> ndarray:
    return np.asarray(starts[np.minimum(at, len(starts) - 1)])


def _clear(work: Workload, machine: int, at: ndarray, length: ndarray, starts: ndarray) -> ndarray:
    """First starts of runs that meet no standstill of their machine."""
    blocks = work.blocks
    for place in np.argsort(blocks.begins, kind="stable"):
        begins, ends = int(blocks.begins[place]), int(blocks.ends[place])
        if blocks.machine[place] == machine:
            at = np.where((at < ends) & (at + length > begins), _first(starts, np.array(ends)), at)
    return at
