"""What no schedule can undercut: each build alone, and the heats and loads that the volume asks for."""

from __future__ import annotations

import numpy as np
from numpy import ndarray

from sagger.goods.schedule import Standing
from sagger.goods.shift import NEVER
from sagger.goods.workload import NOT_FIRED, Workload
from sagger.physics import workclock


def alone(work: Workload, stands: Standing) -> ndarray:
    """Earliest end of each portion with the cell to itself, int64 (m,): exact, by the calendars.

    What is begun is taken as begun; the quickest crew and the shortest way are taken for the rest.
    """
    builds, portions, old = work.builds, work.portions, stands.schedule
    release = np.maximum(builds.release, stands.now)
    start = np.where(stands.printed, old.start, _first(work.printers.starts, release))
    heat = _first(work.ovens.starts, np.maximum(start + builds.printing, _now(stands, stands.printed)))
    heat = np.where(stands.heated, _start(old.heats.start, old.heat), heat)
    opened = np.maximum(heat + work.ovens.length[builds.programme], _now(stands, stands.heated))
    freed = np.full(len(release), NEVER)
    for crew, clock in enumerate(work.crews.clocks):
        mine = np.flatnonzero(builds.crews[:, crew])
        begun = workclock.worked(clock, opened[mine])
        begun = np.where(stands.emptied[mine] & (old.crew[mine] == crew), old.bench[mine], begun)
        freed[mine] = np.minimum(freed[mine], workclock.finish(clock, begun + builds.hands[mine]))
    ends: ndarray = np.maximum(freed[portions.build], stands.now)
    fired = portions.family != NOT_FIRED
    load = _first(work.furnaces.starts, ends[fired])
    load = np.where(stands.fired[fired], _start(old.loads.start, old.load[fired]), load)
    ends[fired] = load + work.furnaces.length[portions.family[fired]]
    return ends


def alone_and_runs(work: Workload, stands: Standing) -> int:
    """Lateness that each order has even alone, and the least price of the runs that all of them ask for."""
    ends = np.zeros(len(work.wishes.due), np.int64)
    np.maximum.at(ends, work.portions.order, alone(work, stands))
    late = int((work.wishes.weight * np.maximum(0, ends - work.wishes.due)).sum())
    return work.prices.late * late + least_runs(work)


def least_runs(work: Workload) -> int:
    """Price of the fewest heats and loads that hold everything."""
    builds, portions, prices = work.builds, work.portions, work.prices
    fired = portions.family != NOT_FIRED
    rows = (
        (builds.programme, builds.room, work.ovens.may, work.ovens.room, prices.heating),
        (
            portions.family[fired],
            portions.shelves[fired],
            work.furnaces.may,
            work.furnaces.room,
            prices.firing,
        ),
    )
    total = 0
    for kinds, sizes, may, room, price in rows:
        asked = np.bincount(kinds, weights=sizes, minlength=may.shape[1])
        for kind in np.flatnonzero(asked):
            can = may[:, kind]
            total += -(-int(asked[kind]) // int(room[can].max())) * int(price[can].min())
    return total


def _first(starts: ndarray, at: ndarray) -> ndarray:
    return np.asarray(starts[np.minimum(at, len(starts) - 1)])


def _now(stands: Standing, begun: ndarray) -> ndarray:
    """What is free begins now or later; what follows something that was begun, too."""
    return np.where(begun, stands.now, 0)


def _start(starts: ndarray, run: ndarray) -> ndarray:
    return starts[np.maximum(run, 0)] if len(starts) else np.zeros(len(run), np.int64)
