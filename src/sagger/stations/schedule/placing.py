"""Builds in turn through print, oven, bench and furnace, each at the least added cost. Compiled.

Serial schedule generation: what stands is kept, the next build takes the earliest places beside it. It joins
a heat or load that has room and starts late enough, or opens one; a new load may be held back by `patience`,
but never past the due date.
"""

from __future__ import annotations

import numpy as np

from sagger.compiled import lean
from sagger.stations.schedule.loading import JOIN, fire, first_from, waits
from sagger.stations.schedule.machines import (
    gap,
    last_full,
    open_run,
    powder_there,
    print_gap,
    put,
    take_box,
    take_powder,
)
from sagger.stations.schedule.packed import Asked, CellRows, Working

NO_TABLE = np.zeros(0, np.int64)
TRIES = 4000  # of one build to find its places


@lean
def place_all(asked: Asked, cell: CellRows, working: Working, sequence: np.ndarray, knobs: np.ndarray) -> int:
    """Place these builds in turn; says how many found a place before the first that found none."""
    for position in range(len(sequence)):
        if not place_build(asked, cell, working, sequence[position], knobs):
            return position
    return len(sequence)


@lean
def place_build(asked: Asked, cell: CellRows, working: Working, build: int, knobs: np.ndarray) -> bool:
    """Place what is not placed yet of one build; False if the calendar ends before."""
    printed, at = working.start[build] >= 0, max(asked.release[build], cell.now)
    if working.freed[build] < 0:
        for _ in range(TRIES):
            printer, start = working.printer[build], working.start[build]
            if not printed:
                printer, start = _print_place(asked, cell, working, build, at)
            if start + asked.printing[build] >= cell.horizon:
                return False
            at = _through(asked, cell, working, (build, printer, start, printed), knobs)
            if at < 0 or printed:
                break
        if working.freed[build] < 0:
            return False
    for place in range(asked.first[build], asked.first[build + 1]):
        portion = asked.portions[place]
        if working.load[portion] < 0 and not fire(asked, cell, working, (portion, build), knobs):
            return False
    return True


@lean
def _print_place(asked: Asked, cell: CellRows, working: Working, build: int, at: int) -> tuple[int, int]:
    """The printer that can begin first, and when: with a box, and powder enough."""
    job = (asked.printing[build], asked.powder[build])
    size, limit = asked.box[build], cell.boxes[asked.box[build]]
    least = asked.printing[build] + cell.cure[asked.programme[build]] + asked.hands[build]
    while True:
        at = powder_there(cell, working, asked.powder[build], asked.fed[build], at)
        best, start = -1, cell.horizon
        for printer in range(len(cell.holds)):
            if asked.printers[build, printer]:
                begin = print_gap(cell, working, printer, at, job)
                if begin < start:
                    best, start = printer, begin
        if start >= cell.horizon:
            return -1, cell.horizon
        full = last_full(working, size, limit, (start, min(start + least, cell.horizon)))
        if full < 0 and powder_there(cell, working, job[1], asked.fed[build], start) == start:
            return best, start
        at = max(full, start) + 1


@lean
def _through(
    asked: Asked, cell: CellRows, working: Working, begun: tuple[int, int, int, bool], knobs: np.ndarray
) -> int:
    """Oven and bench of a print that begins so; -1 if it was placed, else when to try again."""
    build, printer, start, printed = begun
    ready = start + asked.printing[build]
    heat, oven, heated = working.heat[build], -1, 0
    if heat >= 0:
        heated = working.heats[2, heat]
    else:
        heat, oven, heated = _heat_place(asked, cell, working, (build, max(ready, cell.now)), knobs)
    if heated >= cell.horizon:
        return int(cell.horizon)
    late = heated - ready - cell.oven_wait[asked.programme[build]]
    if late > 0 and not printed:
        return int(start + late)
    length = cell.cure[asked.programme[build]] if oven >= 0 else working.heats[3, heat]
    person, work, freed = _bench_place(asked, cell, working, build, max(heated + length, cell.now))
    if freed >= cell.horizon:
        return int(cell.horizon)
    if not printed:
        box = asked.box[build]
        full = last_full(working, box, cell.boxes[box], (start, freed))
        late = waits(asked, cell, working, build, freed)
        if full >= 0 or late > 0:
            return max(full + 1, start + late)
        put(working, printer, (start, ready), asked.powder[build])
        working.printer[build], working.start[build] = printer, start
    _keep(asked, cell, working, (build, heat, oven, heated), (person, work, freed))
    return -1


@lean
def _keep(
    asked: Asked,
    cell: CellRows,
    working: Working,
    cured: tuple[int, int, int, int],
    emptied: tuple[int, int, int],
) -> None:
    """Write down heat and bench work of a build, and that its box is taken."""
    build, heat, oven, heated = cured
    person, work, freed = emptied
    printers = len(cell.holds)
    machines = printers + len(cell.oven_room) + len(cell.furnace_room)
    if oven >= 0:
        programme = asked.programme[build]
        heat = working.number[0]
        working.number[0] += 1
        stretch = (heated, heated + cell.cure[programme])
        open_run(working.heats, heat, oven, programme, stretch)
        put(working, printers + oven, stretch, heat)
    if working.heat[build] < 0:
        working.heats[4, heat] += asked.room[build]
        working.heat[build] = heat
    if working.bench[build] < 0:
        put(working, machines + person, (work, work + asked.hands[build]), build)
        working.person[build], working.bench[build] = person, work
    working.freed[build] = freed
    take_box(working, asked.box[build], working.start[build], freed)
    take_powder(asked, cell, working, build)


@lean
def _heat_place(
    asked: Asked, cell: CellRows, working: Working, built: tuple[int, int], knobs: np.ndarray
) -> tuple[int, int, int]:
    """Heat to join, oven of a new one (-1 = none of both), and when it starts."""
    build, ready = built
    programme, printers = asked.programme[build], len(cell.holds)
    best, oven, start = -1, -1, cell.horizon
    joined, joining = -1, cell.horizon
    for candidate in range(len(cell.oven_room)):
        if not cell.oven_may[candidate, programme] or cell.oven_room[candidate] < asked.room[build]:
            continue
        begin = gap(working, printers + candidate, ready, cell.cure[programme], cell.oven_starts)
        if begin < start:
            oven, start = candidate, begin
        begins, marks = working.begins[printers + candidate], working.marks[printers + candidate]
        place = first_from(begins, working.busy[printers + candidate], ready)
        while place < working.busy[printers + candidate] and begins[place] < joining:
            heat = marks[place]
            if (
                heat >= 0
                and working.heats[1, heat] == programme
                and working.heats[4, heat] + asked.room[build] <= cell.oven_room[candidate]
            ):
                joined, joining = heat, begins[place]
                break
            place += 1
    if joined >= 0 and joining <= start + knobs[build, JOIN] and joining - ready <= cell.oven_wait[programme]:
        best, oven, start = joined, -1, joining
    return best, oven, start


@lean
def _bench_place(
    asked: Asked, cell: CellRows, working: Working, build: int, ready: int
) -> tuple[int, int, int]:
    """Who empties a box that may be opened then, when on that person's work clock, and when it is done."""
    if working.bench[build] >= 0:
        crew = cell.person_crew[working.person[build]]
        done = working.bench[build] + asked.hands[build]
        return working.person[build], working.bench[build], cell.moments[crew, done - 1] + 1
    machines = len(cell.holds) + len(cell.oven_room) + len(cell.furnace_room)
    best, begin, done = -1, 0, cell.horizon
    if ready >= cell.horizon:
        return best, begin, done
    for person in range(len(cell.person_crew)):
        crew = cell.person_crew[person]
        if not asked.crews[build, crew]:
            continue
        work = gap(working, machines + person, cell.worked[crew, ready], asked.hands[build], NO_TABLE)
        last = work + asked.hands[build] - 1
        end = cell.moments[crew, last] + 1 if last < cell.moments.shape[1] else cell.horizon
        if end < done:
            best, begin, done = person, work, end
    return best, begin, done
