"""Heats and loads in the constraint model: who rides with whom, in which machine, and when."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy import ndarray

from sagger.goods.schedule import RunRows
from sagger.goods.shift import NEVER
from sagger.goods.workload import NOT_FIRED, Furnaces, Ovens
from sagger.stations.schedule.scope import BatchRows, Scope, standstills
from sagger.stations.schedule.solver import Batches, MachineRow, batches, windows

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

    from sagger.stations.schedule.scope import Interval, Linear, Literal


class Stage(NamedTuple):
    """One stage with batches: ovens for builds, or furnaces for portions."""

    cell: Ovens | Furnaces
    offset: int  # number of its first machine
    old: RunRows  # runs of the standing schedule
    run: ndarray  # of each member, in it
    stays: ndarray  # bool, by member
    kind: ndarray
    size: ndarray
    free: list[int]  # members without a run yet


class Link(NamedTuple):
    """What a member asks of its run."""

    member: int
    ready: Linear
    done: Literal
    limit: int  # longest wait; NEVER = any


def heats(scope: Scope, prints: dict[int, MachineRow], opened: dict[int, Linear]) -> BatchRows:
    """Heats of builds that are in none yet; `opened` takes the moment at which each box may be opened."""
    work, stands, model = scope.work, scope.stands, scope.model
    old, programme = stands.schedule.heats, work.builds.programme
    free = [build for build in scope.builds if not stands.heated[build]]
    stage = Stage(
        cell=work.ovens,
        offset=len(work.printers.holds),
        old=old,
        run=stands.schedule.heat,
        stays=stands.heated,
        kind=programme,
        size=work.builds.room,
        free=free,
    )
    rows = _rows(scope, stage)
    for build in (each for each in scope.builds if stands.heated[each]):
        run = stands.schedule.heat[build]
        opened[build] = int(old.start[run] + old.length[run])
    for build in free:
        done = model.new_int_var(0, scope.last + int(work.ovens.length.max()), "")
        opened[build] = done
        if build in prints:
            link = Link(build, prints[build].end, done, int(work.ovens.wait[programme[build]]))
        else:
            printed = int(stands.schedule.start[build] + work.builds.printing[build])
            link = Link(build, printed, done, NEVER)
        _rides(scope, stage, rows, link)
    return rows


def loads(scope: Scope, freed: dict[int, Linear], ends: dict[int, list[Linear]]) -> BatchRows:
    """Loads of portions that are in none yet; `ends` takes the ends of each order's portions."""
    work, stands, portions = scope.work, scope.stands, scope.work.portions
    stage = Stage(
        cell=work.furnaces,
        offset=len(work.printers.holds) + len(work.ovens.room),
        old=stands.schedule.loads,
        run=stands.schedule.load,
        stays=stands.fired,
        kind=portions.family,
        size=portions.shelves,
        free=list(scope.portions),
    )
    rows = _rows(scope, stage)
    longest = int(work.furnaces.length.max()) if len(work.furnaces.length) else 0
    for portion in scope.portions:
        build = int(portions.build[portion])
        end = scope.model.new_int_var(0, scope.last + longest, "")
        ends.setdefault(int(portions.order[portion]), []).append(end)
        wait = NEVER if stands.emptied[build] else int(work.furnaces.wait[portions.family[portion]])
        _rides(scope, stage, rows, Link(portion, freed[build], end, wait))
    for bare in np.flatnonzero(portions.family == NOT_FIRED):
        if int(portions.build[bare]) in freed:
            ends.setdefault(int(portions.order[bare]), []).append(freed[int(portions.build[bare])])
    return rows


def _rows(scope: Scope, stage: Stage) -> BatchRows:
    """Batches of the free members, beside runs that stand and have room left."""
    model = scope.model
    joins = _joins(scope, stage)
    others = {each: [join for (member, _), join in joins.items() if member == each] for each in stage.free}
    made = batches(model, stage.free, lambda a, b: bool(stage.kind[a] == stage.kind[b]), others)
    start: dict[int, Literal] = {}
    on: dict[int, dict[int, Literal]] = {}
    intervals = [_standing(scope, stage, machine) for machine in range(len(stage.cell.room))]
    allowed = windows(stage.cell.starts, max(scope.first, scope.stands.now), scope.last)
    for opener in stage.free:
        start[opener] = model.new_int_var_from_domain(allowed, "")
        on[opener] = _opened(scope, stage, made, (opener, start[opener]), intervals)
    for rows in intervals:
        model.add_no_overlap(rows)
    _no_fewer_than_the_volume(model, stage, made, joins)
    return BatchRows(joins, made, start, on)


def _joins(scope: Scope, stage: Stage) -> dict[tuple[int, int], Literal]:
    """Literals of free members that ride in a run that stands."""
    joins: dict[tuple[int, int], Literal] = {}
    for run in sorted({int(each) for each in stage.run[stage.stays]}):
        taken = int(stage.size[(stage.run == run) & stage.stays].sum())
        room = int(stage.cell.room[stage.old.machine[run]]) - taken
        can = [m for m in stage.free if stage.kind[m] == stage.old.kind[run] and stage.size[m] <= room]
        if stage.old.start[run] >= scope.stands.now and can:
            joins |= {(member, run): scope.model.new_bool_var("") for member in can}
            scope.model.add(sum(int(stage.size[member]) * joins[member, run] for member in can) <= room)
    return joins


def _opened(
    scope: Scope,
    stage: Stage,
    made: Batches,
    which: tuple[int, Literal],
    intervals: list[list[Interval]],
) -> dict[int, Literal]:
    """The machines that a new run may be on, with its interval on each, and its room."""
    opener, start = which
    model, kind = scope.model, int(stage.kind[opener])
    may = np.flatnonzero(stage.cell.may[:, kind] & (stage.cell.room >= stage.size[opener]))
    on = {int(machine): model.new_bool_var("") for machine in may}
    model.add(sum(on.values()) == made.opened(opener))
    for machine, here in on.items():
        run = model.new_optional_fixed_size_interval_var(start, int(stage.cell.length[kind]), here, "")
        intervals[machine].append(run)
    room = sum(int(stage.cell.room[machine]) * here for machine, here in on.items())
    model.add(sum(int(stage.size[m]) * made.rides[m, opener] for m in made.of(opener)) <= room)
    return on


def _no_fewer_than_the_volume(
    model: cp_model.CpModel, stage: Stage, made: Batches, joins: dict[tuple[int, int], Literal]
) -> None:
    """As many runs of each kind as its members fill, where none can ride in one that stands."""
    joining = {member for member, _ in joins}
    for kind in {int(stage.kind[member]) for member in made.members}:
        mine = [member for member in made.members if stage.kind[member] == kind]
        room = int(stage.cell.room[stage.cell.may[:, kind]].max(initial=1))
        if not joining & set(mine):
            volume = int(sum(stage.size[member] for member in mine))
            model.add(sum(made.opened(member) for member in mine) >= -(-volume // room))


def _standing(scope: Scope, stage: Stage, machine: int) -> list[Interval]:
    """Runs that stay on a machine, and stretches in which it stands."""
    rows, old = standstills(scope, stage.offset + machine), stage.old
    for run in {int(each) for each in stage.run[stage.stays]}:
        if old.machine[run] == machine and old.start[run] + old.length[run] > scope.first:
            interval = scope.model.new_fixed_size_interval_var(int(old.start[run]), int(old.length[run]), "")
            rows.append(interval)
    return rows


def _rides(scope: Scope, stage: Stage, rows: BatchRows, link: Link) -> None:
    """A member is ready before its run starts, waits no longer than it may, and is done when the run is."""
    model, member = scope.model, link.member
    length = int(stage.cell.length[stage.kind[member]])
    for opener in rows.batches.members:
        if (member, opener) in rows.batches.rides:
            ride, start = rows.batches.rides[member, opener], rows.start[opener]
            model.add(start >= link.ready).only_enforce_if(ride)
            model.add(link.done >= start + length).only_enforce_if(ride)
            if link.limit < NEVER:
                model.add(start <= link.ready + link.limit).only_enforce_if(ride)
    for (each, run), join in rows.joins.items():
        if each == member:
            begins = int(stage.old.start[run])
            model.add(link.ready <= begins).only_enforce_if(join)
            model.add(link.done >= begins + int(stage.old.length[run])).only_enforce_if(join)
            if link.limit < NEVER:
                model.add(link.ready >= begins - link.limit).only_enforce_if(join)
