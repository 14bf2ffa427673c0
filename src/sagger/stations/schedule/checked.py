"""What is wrong with a schedule: from the rules of the cell, sharing nothing with what makes schedules."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.goods.schedule import RunRows, Schedule, Standing
from sagger.goods.workload import NOT_FIRED, Workload


def faults(work: Workload, schedule: Schedule, stands: Standing | None = None) -> tuple[str, ...]:
    """Every rule that is broken, in words; empty if the schedule can be done as it stands.

    What `stands` says is begun is a fact: it may have broken a limit, but it must not have moved. What
    a person fixed must not have moved either, not from machine to machine, and keeps limits that lie ahead.
    """
    missing = _missing(work, schedule)
    if missing:
        return missing
    freed, begun = _freed(work, schedule), _begun(work, schedule, stands)
    return (
        *_moved(schedule, stands),
        *_unfixed(work, schedule, stands),
        *_prints(work, schedule, begun),
        *_boxes(work, schedule, freed),
        *_cures(work, schedule, begun),
        *_benches(work, schedule, begun),
        *_firings(work, schedule, freed, begun),
        *_standing(work, schedule),
        *_powder(work, schedule, freed),
    )


class Begun(NamedTuple):
    """What cannot be helped any more, and what may not begin before `now`. bool arrays."""

    now: int
    print: ndarray  # by build
    heat: ndarray
    bench: ndarray
    load: ndarray  # by portion
    heats: ndarray  # by run of the schedule
    loads: ndarray


def _begun(work: Workload, schedule: Schedule, stands: Standing | None) -> Begun:
    builds, portions = len(work.builds.release), len(work.portions.build)
    printed, heated, emptied = (np.zeros(builds, bool) for _ in range(3))
    fired, now = np.zeros(portions, bool), 0
    if stands is not None:
        now, fired = stands.now, stands.fired & ~_ahead(stands)[work.portions.build]
        printed, heated, emptied = (
            flags & ~_ahead(stands) for flags in (stands.printed, stands.heated, stands.emptied)
        )
    return Begun(
        now=now,
        print=printed,
        heat=heated,
        bench=emptied,
        load=fired,
        heats=np.isin(np.arange(len(schedule.heats.start)), schedule.heat[heated]),
        loads=np.isin(np.arange(len(schedule.loads.start)), schedule.load[fired]),
    )


def _moved(schedule: Schedule, stands: Standing | None) -> Iterator[str]:
    if stands is None:
        return
    old = stands.schedule
    for word, rows in (
        (
            "print",
            ((schedule.start, old.start, stands.printed), (schedule.printer, old.printer, stands.printed)),
        ),
        ("bench work", ((schedule.bench, old.bench, stands.emptied),)),
        ("heat", ((_starts(schedule.heats, schedule.heat), _starts(old.heats, old.heat), stands.heated),)),
        ("load", ((_starts(schedule.loads, schedule.load), _starts(old.loads, old.load), stands.fired),)),
    ):
        for new, was, stays in rows:
            for number in np.flatnonzero(stays & (new != was)):
                yield f"the {word} of {number} was begun and has moved"


def _ahead(stands: Standing) -> ndarray:
    """Builds that a person fixed and that are not begun yet, bool (n,)."""
    return np.asarray(stands.fixed & (stands.schedule.start >= stands.now))


def _unfixed(work: Workload, schedule: Schedule, stands: Standing | None) -> Iterator[str]:
    """A build that a person fixed is somewhere else."""
    if stands is None:
        return
    old = stands.schedule
    for build in np.flatnonzero(stands.fixed):
        portions = np.flatnonzero((work.portions.build == build) & (work.portions.family != NOT_FIRED))
        if _place(schedule, int(build), portions) != _place(old, int(build), portions):
            yield f"build {build} is fixed and has moved"


def _place(schedule: Schedule, build: int, portions: ndarray) -> list[tuple[int, int]]:
    """Machine and start of each step of a build."""
    rows = [(schedule.printer[build], schedule.start[build]), (schedule.crew[build], schedule.bench[build])]
    batches = [(schedule.heats, schedule.heat[build])]
    batches += [(schedule.loads, schedule.load[portion]) for portion in portions]
    return [*rows, *((runs.machine[run], runs.start[run]) for runs, run in batches)]


def _starts(runs: RunRows, run: ndarray) -> ndarray:
    return runs.start[np.maximum(run, 0)] if len(runs.start) else np.full(len(run), -1)


def _missing(work: Workload, schedule: Schedule) -> tuple[str, ...]:
    rows = (schedule.printer, schedule.start, schedule.heat, schedule.crew, schedule.bench)
    builds = np.flatnonzero(np.min(rows, axis=0) < 0)
    portions = np.flatnonzero((schedule.load < 0) & (work.portions.family != NOT_FIRED))
    return tuple(f"build {build} has no place" for build in builds) + tuple(
        f"portion {portion} has no load" for portion in portions
    )


def _freed(work: Workload, schedule: Schedule) -> ndarray:
    """The quarter of the calendar that follows the last quarter of bench work."""
    last = schedule.bench + work.builds.hands - 1
    pairs = zip(schedule.crew, last, strict=True)
    return np.array([work.crews.clocks[crew].moments[at] + 1 for crew, at in pairs], np.int64)


def _prints(work: Workload, schedule: Schedule, begun: Begun) -> Iterator[str]:
    builds, change = work.builds, work.printers.change
    for build, start in enumerate(schedule.start):
        if begun.print[build]:
            continue
        if start < max(builds.release[build], begun.now):
            yield f"build {build} is printed before it may be"
        if not builds.printers[build, schedule.printer[build]]:
            yield f"build {build} is on a printer that cannot print it"
        if work.printers.starts[start] != start:
            yield f"print {build} starts while nobody is there"
    for printer, holds in enumerate(work.printers.holds):
        mine = _in_order(schedule.start, schedule.printer == printer)
        if mine and holds >= 0 and mine[0][0] < change[holds, builds.powder[mine[0][1]]]:
            yield f"print {mine[0][1]} starts before printer {printer} is changed over"
        for (begin, build), (follow, other) in pairwise(mine):
            ready = begin + builds.printing[build] + change[builds.powder[build], builds.powder[other]]
            if follow < ready:
                yield f"printer {printer}: print {other} starts before print {build} and the change-over end"


def _boxes(work: Workload, schedule: Schedule, freed: ndarray) -> Iterator[str]:
    for size, number in enumerate(work.boxes.number):
        mine = np.flatnonzero(work.builds.box == size)
        events = sorted([(at, 1) for at in schedule.start[mine]] + [(at, -1) for at in freed[mine]])
        taken = 0
        for at, step in events:
            taken += step
            if taken > number:
                yield f"{taken} boxes of size {size} are taken at {at}, there are {number}"


def _cures(work: Workload, schedule: Schedule, begun: Begun) -> Iterator[str]:
    builds, ovens, heats = work.builds, work.ovens, schedule.heats
    for build, heat in enumerate(schedule.heat):
        printed = schedule.start[build] + builds.printing[build]
        waited = heats.start[heat] - printed
        if heats.kind[heat] != builds.programme[build]:
            yield f"build {build} is in a heat of another programme"
        if waited < 0:
            yield f"build {build} is in the oven before it is printed"
        if waited > ovens.wait[builds.programme[build]] and not begun.print[build]:
            yield f"build {build} waits {waited} quarters for the oven"
    for heat, oven in enumerate(heats.machine):
        if builds.room[schedule.heat == heat].sum() > ovens.room[oven]:
            yield f"heat {heat} has more boxes than the oven has room"
        if heats.length[heat] < ovens.length[heats.kind[heat]] and not begun.heats[heat]:
            yield f"heat {heat} is shorter than its programme"
    yield from _runs("heat", heats, ovens.may, ovens.starts, begun.heats, begun.now)


def _benches(work: Workload, schedule: Schedule, begun: Begun) -> Iterator[str]:
    builds, heats = work.builds, schedule.heats
    for build, crew in enumerate(schedule.crew):
        if begun.bench[build]:
            continue
        opened = (heats.start + heats.length)[schedule.heat[build]]
        if not builds.crews[build, crew]:
            yield f"build {build} is emptied by people who cannot"
        if work.crews.clocks[crew].moments[schedule.bench[build]] < max(opened, begun.now):
            yield f"build {build} is emptied before its heat ends"
    for crew, people in enumerate(work.crews.people):
        mine = np.flatnonzero(schedule.crew == crew)
        ends = schedule.bench[mine] + builds.hands[mine]
        events = sorted([(at, 1) for at in schedule.bench[mine]] + [(at, -1) for at in ends])
        if events and max(np.cumsum([step for _, step in events])) > people:
            yield f"crew {crew} has more boxes at once than people"


def _firings(work: Workload, schedule: Schedule, freed: ndarray, begun: Begun) -> Iterator[str]:
    portions, furnaces, loads = work.portions, work.furnaces, schedule.loads
    for portion in np.flatnonzero(portions.family != NOT_FIRED):
        load, family = schedule.load[portion], portions.family[portion]
        waited = loads.start[load] - freed[portions.build[portion]]
        if loads.kind[load] != family:
            yield f"portion {portion} is in a load of another family"
        if waited < 0:
            yield f"portion {portion} is fired before its box is emptied"
        if waited > furnaces.wait[family] and not begun.bench[portions.build[portion]]:
            yield f"portion {portion} waits {waited} quarters for the furnace"
    for load, furnace in enumerate(loads.machine):
        if portions.shelves[schedule.load == load].sum() > furnaces.room[furnace]:
            yield f"load {load} is fuller than the furnace"
        if loads.length[load] < furnaces.length[loads.kind[load]] and not begun.loads[load]:
            yield f"load {load} is shorter than its programme"
    yield from _runs("load", loads, furnaces.may, furnaces.starts, begun.loads, begun.now)


def _runs(word: str, runs: RunRows, may: ndarray, starts: ndarray, begun: ndarray, now: int) -> Iterator[str]:
    for run, start in enumerate(runs.start):
        if begun[run]:
            continue
        if start < now:
            yield f"{word} {run} starts in the past"
        if starts[start] != start:
            yield f"{word} {run} starts while nobody is there"
        if not may[runs.machine[run], runs.kind[run]]:
            yield f"{word} {run} is in a machine that cannot do it"
    for machine in range(len(may)):
        mine = _in_order(runs.start, runs.machine == machine)
        for (begin, run), (follow, other) in pairwise(mine):
            if follow < begin + runs.length[run]:
                yield f"{word} {other} starts before {word} {run} ends"


def _standing(work: Workload, schedule: Schedule) -> Iterator[str]:
    """Nothing runs on a machine while it stands."""
    printing = work.builds.printing
    printers, ovens = len(work.printers.holds), len(work.ovens.room)
    rows = (
        (schedule.printer, schedule.start, schedule.start + printing),
        *((runs.machine, runs.start, runs.start + runs.length) for runs in (schedule.heats, schedule.loads)),
    )
    for offset, (machine, begins, ends) in zip((0, printers, printers + ovens), rows, strict=True):
        for stands, stops, goes in zip(*(getattr(work.blocks, name) for name in _BLOCK), strict=True):
            if np.any((machine + offset == stands) & (begins < goes) & (ends > stops)):
                yield f"something runs on machine {stands} while it stands"


def _in_order(starts: ndarray, mine: ndarray) -> list[tuple[int, int]]:
    """Start and number of what is marked, by start."""
    return sorted((int(starts[place]), int(place)) for place in np.flatnonzero(mine))


_BLOCK = ("machine", "begins", "ends")


def _powder(work: Workload, schedule: Schedule, freed: ndarray) -> Iterator[str]:
    builds, stock = work.builds, work.stock
    for powder in np.flatnonzero(stock.counted):
        mine = np.flatnonzero(builds.powder == powder)
        events = [(at, amount) for kind, at, amount in stock.deliveries if kind == powder]
        events += list(zip(freed[mine] + stock.sieving, builds.back[mine], strict=True))
        events += list(zip(schedule.start[mine], -builds.fed[mine], strict=True))
        level = np.cumsum([amount for _, amount in sorted(events, key=lambda event: (event[0], -event[1]))])
        if len(level) and level.min() < 0:
            yield f"powder {powder} is short by {-level.min() / 100:g} kg"
