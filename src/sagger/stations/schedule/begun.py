"""What is begun in the cell: the accepted plan up to now, and what people said happened since."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.errors import InputError
from sagger.goods.asked import AskedOrder, CellEvent, PlannedBuild
from sagger.goods.schedule import UNPLACED, RunRows, Schedule, Standing
from sagger.goods.shift import NEVER
from sagger.goods.stand import Stand, machine_names
from sagger.goods.workload import NOT_FIRED, Blocks, Workload
from sagger.physics import workclock
from sagger.stations.schedule.gathered import moment, quarters, workload


class BegunCell(NamedTuple):
    """The workload as it is by now, and what of it stays."""

    work: Workload
    stands: Standing
    names: tuple[tuple[str, str], ...]  # order and label of each build
    facts: Standing  # without what is only fixed: that is not begun, and takes as long as it takes


def begun(
    stand: Stand,
    orders: Sequence[AskedOrder],
    rows: Sequence[PlannedBuild],
    events: Sequence[CellEvent],
    times: tuple[str, str],
    kept_h: float,
) -> BegunCell:
    """The cell at a moment.

    Parameters
    ----------
    rows : sequence of PlannedBuild
        Of the plan accepted last.
    events : sequence of CellEvent
        Said since then; machines that are down and builds that are fixed, from any time. Nothing said = as
        planned.
    times : tuple of str, str
        Monday on which the clock begins, and now [ISO].
    kept_h : float
        What is planned to begin so soon stays too, if it can [h]. A fixed build stays whenever it begins.
    """
    base, now = times
    names = tuple((order.name, build.label) for order in orders for build in order.builds)
    by_name = {(row.order, row.build): row for row in rows}
    planned: list[PlannedBuild | None] = [by_name.get(name) for name in names]
    work = workload(stand, orders, base)
    printing, release = work.builds.printing.copy(), work.builds.release.copy()
    for place, row in enumerate(planned):
        if row is not None:
            printing[place] = moment(base, row.printed) - moment(base, row.starts)
    for event in events:
        _happens(event, base, (names, planned, printing, release))
    at = moment(base, now, late=True)
    builds = dataclasses.replace(work.builds, printing=printing, release=np.maximum(release, 0))
    work = dataclasses.replace(work, builds=builds, blocks=_blocks(stand, events, base, at))
    schedule = _schedule(stand, work, planned)
    fixed = _fixed(names, events) & (schedule.start >= 0)
    soon = np.full(len(names), at + (quarters(kept_h) if kept_h else 0))
    facts, stands = (_flags(work, schedule, at, before) for before in (soon, np.where(fixed, NEVER, soon)))
    stands = dataclasses.replace(stands, fixed=fixed & _whole(work, stands))
    work = dataclasses.replace(work, blocks=_after_what_runs(work, stands))
    return BegunCell(work, stands, names, facts)


Rows = tuple[tuple[tuple[str, str], ...], list[PlannedBuild | None], ndarray, ndarray]


def _happens(event: CellEvent, base: str, rows: Rows) -> None:
    """What an event changes of a build."""
    if event.kind not in ("started", "ended", "scrapped"):
        return
    names, planned, printing, release = rows
    name = tuple(event.subject.split("/", 1))
    if name not in names:
        return  # of an order that is delivered
    place = names.index((name[0], name[1]))
    row = planned[place]
    if event.kind == "scrapped":
        planned[place] = None
        release[place] = moment(base, event.at, late=True)
        return
    if row is None:
        what = "this build is in no plan yet"
        raise InputError(what, field="event", value=event.subject, remedy="Plan the cell first.")
    if event.kind == "started":
        length = moment(base, row.printed) - moment(base, row.starts)
        planned[place] = dataclasses.replace(row, starts=event.at)
        printing[place] = length
    else:
        printing[place] = max(1, moment(base, event.at, late=True) - moment(base, row.starts))


def _blocks(stand: Stand, events: Sequence[CellEvent], base: str, now: int) -> Blocks:
    """Stretches in which machines are down, from now on."""
    machines = machine_names(stand)
    rows = []
    for event in events:
        until = moment(base, event.until, late=True) if event.kind == "down" else 0
        if until > now:
            if event.subject not in machines:
                remedy = f"It has: {', '.join(machines)}."
                raise InputError("the cell has no such machine", value=event.subject, remedy=remedy)
            rows.append((machines.index(event.subject), max(now, moment(base, event.at)), until))
    table = np.array(rows, np.int64).reshape(-1, 3).T
    return Blocks(machine=table[0], begins=table[1], ends=table[2])


def _fixed(names: Sequence[tuple[str, str]], events: Sequence[CellEvent]) -> ndarray:
    """Which builds a person fixed where they are, bool (n,)."""
    subjects = {event.subject for event in events if event.kind == "fixed"}
    return np.array(["/".join(name) in subjects for name in names], bool)


def _whole(work: Workload, stands: Standing) -> ndarray:
    """Builds of which every step stays, bool (n,)."""
    unfired = (work.portions.family != NOT_FIRED) & ~stands.fired
    whole: ndarray = stands.printed & stands.heated & stands.emptied
    whole[work.portions.build[unfired]] = False
    return whole


def _schedule(stand: Stand, work: Workload, planned: list[PlannedBuild | None]) -> Schedule:
    """The planned rows as a schedule; UNPLACED where there is none."""
    count, base = len(planned), work.base
    printers, ovens = [each.name for each in stand.printers], [each.name for each in stand.ovens]
    furnaces, crews = [each.name for each in stand.furnaces], [each.name for each in stand.crews]
    lists = {
        name: np.full(count, UNPLACED, np.int64)
        for name in ("printer", "start", "heat", "crew", "bench", "load")
    }
    heats: dict[int, tuple[int, ...]] = {}
    loads: dict[int, tuple[int, ...]] = {}
    for place, row in enumerate(planned):
        if row is None:
            continue
        lists["printer"][place] = printers.index(row.printer)
        lists["start"][place] = moment(base, row.starts)
        lists["heat"][place] = row.heat
        lists["crew"][place] = crews.index(row.crew)
        clock = work.crews.clocks[crews.index(row.crew)]
        lists["bench"][place] = workclock.worked(clock, moment(base, row.bench_from))
        begin, end = moment(base, row.heated_from), moment(base, row.heated_to)
        kind = int(work.builds.programme[place])
        heats[row.heat] = (ovens.index(row.oven), kind, begin, end - begin)
        if row.load >= 0:
            lists["load"][place] = row.load
            begin, end, kind = (
                moment(base, row.fired_from),
                moment(base, row.ready),
                int(work.portions.family[place]),
            )
            loads[row.load] = (furnaces.index(row.furnace), kind, begin, end - begin)
    return Schedule(**lists, heats=_runs(heats), loads=_runs(loads))


def _runs(rows: dict[int, tuple[int, ...]]) -> RunRows:
    """Runs by their numbers; numbers that are not used stand empty."""
    table = np.zeros((4, max(rows, default=-1) + 1), np.int64)
    for number, row in rows.items():
        table[:, number] = row
    return RunRows(machine=table[0], kind=table[1], start=table[2], length=table[3])


def _flags(work: Workload, schedule: Schedule, now: int, frozen_before: ndarray) -> Standing:
    """Which steps stay: those of a build that begin before a moment of its own (n,) [quarters], each only if
    the one before it is done by then."""
    ends = schedule.start + work.builds.printing
    printed = (schedule.start >= 0) & (schedule.start < frozen_before)
    _drop_overlapping(work, schedule, printed, now)
    heat = np.maximum(schedule.heat, 0)
    heat_from = _of(schedule.heats.start, heat)
    opened = heat_from + _of(schedule.heats.length, heat)
    heated = printed & (schedule.heat >= 0) & (heat_from < frozen_before) & (ends <= heat_from)
    oven = len(work.printers.holds) + _of(schedule.heats.machine, heat)
    heated &= (heat_from < now) | ~_down(work.blocks, oven, heat_from, opened)
    begins, freed = np.zeros(len(ends), np.int64), np.zeros(len(ends), np.int64)
    for crew, clock in enumerate(work.crews.clocks):
        mine = heated & (schedule.crew == crew)
        begins[mine] = workclock.moment(clock, schedule.bench[mine])
        freed[mine] = workclock.finish(clock, schedule.bench[mine] + work.builds.hands[mine])
    emptied = heated & (begins < frozen_before) & (opened <= begins)
    build = work.portions.build
    load = np.maximum(schedule.load, 0)
    load_from = _of(schedule.loads.start, load)
    fired = (
        emptied[build]
        & (schedule.load >= 0)
        & (load_from < frozen_before[build])
        & (freed[build] <= load_from)
    )
    furnace = len(work.printers.holds) + len(work.ovens.room) + _of(schedule.loads.machine, load)
    unloaded = load_from + _of(schedule.loads.length, load)
    fired &= (load_from < now) | ~_down(work.blocks, furnace, load_from, unloaded)
    return Standing(
        schedule=schedule,
        now=now,
        printed=printed,
        heated=heated,
        emptied=emptied,
        fired=fired,
        fixed=np.zeros(len(ends), bool),
    )


def _drop_overlapping(work: Workload, schedule: Schedule, printed: ndarray, now: int) -> None:
    """A print does not stay whose printer is still busy, or down, when it was to begin."""
    starts = schedule.start
    printed &= (starts < now) | ~_down(work.blocks, schedule.printer, starts, starts + work.builds.printing)
    for printer in range(len(work.printers.holds)):
        free = 0
        mine = np.flatnonzero(printed & (schedule.printer == printer))
        for build in mine[np.argsort(schedule.start[mine], kind="stable")]:
            begin = int(schedule.start[build])
            end = begin + int(work.builds.printing[build])
            printed[build] = begin >= free
            free = max(free, end) if printed[build] else free


def _down(blocks: Blocks, machine: ndarray, begins: ndarray, ends: ndarray) -> ndarray:
    """Whether a machine is down in any part of each stretch, bool (n,)."""
    there = (blocks.machine[:, None] == machine) & (blocks.begins[:, None] < ends)
    return np.asarray((there & (blocks.ends[:, None] > begins)).any(axis=0))


def _after_what_runs(work: Workload, stands: Standing) -> Blocks:
    """What runs is finished before its machine counts as down: if it is lost, somebody says scrapped."""
    schedule, blocks = stands.schedule, work.blocks
    ovens, furnaces = len(work.printers.holds), len(work.printers.holds) + len(work.ovens.room)
    heats, loads = schedule.heat[stands.heated], schedule.load[stands.fired]
    machine = np.concatenate(
        (
            schedule.printer[stands.printed],
            ovens + schedule.heats.machine[heats],
            furnaces + schedule.loads.machine[loads],
        )
    )
    begins = (schedule.start[stands.printed], schedule.heats.start[heats], schedule.loads.start[loads])
    lengths = (
        work.builds.printing[stands.printed],
        schedule.heats.length[heats],
        schedule.loads.length[loads],
    )
    begin, end = np.concatenate(begins), np.concatenate(begins) + np.concatenate(lengths)
    later = blocks.begins.copy()
    for place, (number, since) in enumerate(zip(blocks.machine, blocks.begins, strict=True)):
        running = (machine == number) & (begin <= since) & (end > since)
        later[place] = max(since, int(end[running].max(initial=0)))
    open_still = later < blocks.ends
    return Blocks(machine=blocks.machine[open_still], begins=later[open_still], ends=blocks.ends[open_still])


def _of(rows: ndarray, run: ndarray) -> ndarray:
    return rows[run] if len(rows) else np.zeros(len(run), np.int64)
