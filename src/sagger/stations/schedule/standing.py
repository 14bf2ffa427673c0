"""What is begun or stays goes into a schedule in the making before anything else."""

from __future__ import annotations

import numpy as np
from numpy import ndarray

from sagger.goods.schedule import RunRows, Schedule, Standing
from sagger.goods.workload import NOT_FIRED, Workload
from sagger.physics import workclock
from sagger.stations.schedule.machines import open_run, put, take_box, take_powder
from sagger.stations.schedule.packed import Working, asked, blank, cell_rows
from sagger.stations.schedule.worth import freed


def nothing(work: Workload, now: int = 0) -> Standing:
    """A cell in which nothing is begun."""
    builds, portions = len(work.builds.release), len(work.portions.build)
    none = np.full(builds, -1, np.int64)
    runs = RunRows(**{name: np.zeros(0, np.int64) for name in ("machine", "kind", "start", "length")})
    empty = Schedule(
        printer=none,
        start=none,
        heat=none,
        crew=none,
        bench=none,
        load=np.full(portions, -1, np.int64),
        heats=runs,
        loads=runs,
    )
    free = np.zeros(builds, bool)
    return Standing(
        schedule=empty,
        now=now,
        printed=free,
        heated=free,
        emptied=free,
        fired=np.zeros(portions, bool),
        fixed=free,
    )


def before(work: Workload, schedule: Schedule, now: int, frozen: int) -> Standing:
    """What begins before a moment stays; nothing else may begin before `now`.

    Parameters
    ----------
    frozen : int
        Operations that begin before it are begun, or people were told [quarters].
    """
    crews, begun = work.crews.clocks, np.zeros(len(schedule.bench), bool)
    for crew, clock in enumerate(crews):
        mine = schedule.crew == crew
        begun[mine] = workclock.moment(clock, schedule.bench[mine]) < frozen
    heated = (schedule.heat >= 0) & (_of(schedule.heats.start, schedule.heat) < frozen)
    printed = (schedule.start >= 0) & (schedule.start < frozen)
    fired = (schedule.load >= 0) & (_of(schedule.loads.start, schedule.load) < frozen)
    return Standing(
        schedule=schedule,
        now=now,
        printed=printed,
        heated=heated & printed,
        emptied=begun & heated & printed,
        fired=fired,
        fixed=np.zeros(len(printed), bool),
    )


def _of(starts: ndarray, run: ndarray) -> ndarray:
    return starts[np.maximum(run, 0)] if len(starts) else np.zeros(len(run), np.int64)


def set_out(work: Workload, stands: Standing) -> Working:
    """A schedule in the making with all that stays."""
    made, old, builds = blank(work), stands.schedule, work.builds
    heats = _runs(made, old.heats, old.heat[stands.heated], 0, len(work.printers.holds))
    offset = len(work.printers.holds) + len(work.ovens.room)
    loads = _runs(made, old.loads, old.load[stands.fired], 1, offset)
    for build in np.flatnonzero(stands.printed):
        start = int(old.start[build])
        made.printer[build], made.start[build] = old.printer[build], start
        put(
            made,
            int(old.printer[build]),
            (start, start + int(builds.printing[build])),
            int(builds.powder[build]),
        )
        if stands.heated[build]:
            made.heat[build] = heats[int(old.heat[build])]
            made.heats[4, made.heat[build]] += builds.room[build]
    _bench(work, made, stands)
    for portion in np.flatnonzero(stands.fired):
        load = loads[int(old.load[portion])]
        made.load[portion] = load
        made.loads[4, load] += work.portions.shelves[portion]
        order = work.portions.order[portion]
        made.ready[order] = max(made.ready[order], made.loads[2, load] + made.loads[3, load])
    for portion in np.flatnonzero((work.portions.family == NOT_FIRED) & stands.emptied[work.portions.build]):
        order = work.portions.order[portion]
        made.ready[order] = max(made.ready[order], made.freed[work.portions.build[portion]])
    return made


def _runs(made: Working, old: RunRows, members: ndarray, which: int, offset: int) -> dict[int, int]:
    """New number of each heat or load that stays, by its old one."""
    rows, numbers = (made.heats, made.loads)[which], {}
    for run in sorted({int(member) for member in members}):
        number = int(made.number[which])
        made.number[which] += 1
        start = int(old.start[run])
        stretch = (start, start + int(old.length[run]))
        open_run(rows, number, int(old.machine[run]), int(old.kind[run]), stretch)
        put(made, offset + int(old.machine[run]), stretch, number)
        numbers[run] = number
    return numbers


def _bench(work: Workload, made: Working, stands: Standing) -> None:
    """Bench work that stays, each with a person who is free; its box is taken until then."""
    old, rows, tasks = stands.schedule, cell_rows(work), asked(work)
    machines = len(work.printers.holds) + len(work.ovens.room) + len(work.furnaces.room)
    ends = freed(work, old)
    mine = np.flatnonzero(stands.emptied)
    until = np.zeros(len(rows.person_crew), np.int64)
    for build in mine[np.argsort(old.bench[mine], kind="stable")]:
        people = np.flatnonzero(rows.person_crew == old.crew[build])
        person = int(people[np.argmin(until[people])])
        begin = int(old.bench[build])
        until[person] = begin + work.builds.hands[build]
        put(made, machines + person, (begin, int(until[person])), int(build))
        made.person[build], made.bench[build], made.freed[build] = person, begin, ends[build]
        take_box(made, int(work.builds.box[build]), int(made.start[build]), int(ends[build]))
        take_powder(tasks, rows, made, int(build))


def sequence(work: Workload, stands: Standing, order: ndarray) -> tuple[ndarray, int]:
    """The builds that still need a place, those begun first by their start; and how many are begun."""
    unfired = (work.portions.family != NOT_FIRED) & ~stands.fired
    open_ends = ~stands.emptied
    open_ends[work.portions.build[unfired]] = True
    begun = np.flatnonzero(stands.printed & open_ends)
    begun = begun[np.argsort(stands.schedule.start[begun], kind="stable")]
    free = order[~stands.printed[order]]
    return np.concatenate((begun, free)).astype(np.int64), len(begun)
