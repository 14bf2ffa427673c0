"""Portions into furnace loads: the one that adds least, old or new. Compiled."""

from __future__ import annotations

import numpy as np

from sagger.compiled import lean
from sagger.goods.shift import NEVER
from sagger.stations.schedule.machines import after, gap, open_run, put
from sagger.stations.schedule.packed import Asked, CellRows, Working

PATIENCE, JOIN = 0, 1  # of a build: how long its load is held back, how much later a heat joined may be


@lean
def first_from(begins: np.ndarray, count: int, at: int) -> int:
    """First busy stretch that begins at `at` or later."""
    return after(begins, count, at - 1)


@lean
def waits(asked: Asked, cell: CellRows, working: Working, build: int, ready: int) -> int:
    """How much later a build had to come so that no portion waits too long for its furnace."""
    late = 0
    for place in range(asked.first[build], asked.first[build + 1]):
        portion = asked.portions[place]
        family = asked.family[portion]
        if family >= 0 and working.load[portion] < 0 and cell.furnace_wait[family] < NEVER:
            joining, _ = _load_to_join(asked, cell, working, portion, ready)
            start, _ = _new_load(cell, working, family, asked.shelves[portion], ready)
            late = max(late, min(start, joining) - ready - cell.furnace_wait[family])
    return late


@lean
def _load_to_join(
    asked: Asked, cell: CellRows, working: Working, portion: int, ready: int
) -> tuple[int, int]:
    """When the first load starts that has room for a portion, and which; the horizon if there is none."""
    offset, start, joined = len(cell.holds) + len(cell.oven_room), cell.horizon, -1
    family, shelves = asked.family[portion], asked.shelves[portion]
    for furnace in cell.furnace_turn:
        if not cell.furnace_may[furnace, family]:
            continue
        begins, marks = working.begins[offset + furnace], working.marks[offset + furnace]
        place = first_from(begins, working.busy[offset + furnace], ready)
        while place < working.busy[offset + furnace] and begins[place] < start:
            load = marks[place]
            if (
                load >= 0
                and working.loads[1, load] == family
                and working.loads[4, load] + shelves <= cell.furnace_room[furnace]
            ):
                start, joined = begins[place], load
                break
            place += 1
    return start, joined


@lean
def _new_load(cell: CellRows, working: Working, family: int, shelves: int, ready: int) -> tuple[int, int]:
    """When a new load can start first, and in which furnace."""
    offset, start, best = len(cell.holds) + len(cell.oven_room), cell.horizon, -1
    for furnace in cell.furnace_turn:
        if cell.furnace_may[furnace, family] and shelves <= cell.furnace_room[furnace]:
            begin = gap(working, offset + furnace, ready, cell.fire[family], cell.furnace_starts)
            if begin < start:
                start, best = begin, furnace
    return start, best


@lean
def fire(asked: Asked, cell: CellRows, working: Working, which: tuple[int, int], knobs: np.ndarray) -> bool:
    """Put a portion into the load that adds least: lateness of its order, and a new load's price."""
    portion, build = which
    order, family, ready = asked.order[portion], asked.family[portion], max(working.freed[build], cell.now)
    if family < 0:
        working.ready[order] = max(working.ready[order], working.freed[build])
        return True
    shelves, length = asked.shelves[portion], cell.fire[family]
    start, load = _load_to_join(asked, cell, working, portion, ready)
    limit = working.freed[build] + cell.furnace_wait[family]
    if start > limit:
        start, load = cell.horizon, -1
    begin, furnace = _held_back(asked, cell, working, (portion, ready, limit), knobs[build, PATIENCE])
    if load < 0 and furnace < 0:
        return False
    if furnace >= 0:
        added = _added(asked, cell, working, order, begin + length) + cell.firing[furnace]
        joining = _added(asked, cell, working, order, start + length) if load >= 0 else NEVER
        if added < joining or (added == joining and begin < start):
            load, start = working.number[1], begin
            working.number[1] += 1
            open_run(working.loads, load, furnace, family, (begin, begin + length))
            offset = len(cell.holds) + len(cell.oven_room)
            put(working, offset + furnace, (begin, begin + length), load)
    working.loads[4, load] += shelves
    working.load[portion] = load
    working.ready[order] = max(working.ready[order], start + length)
    return True


@lean
def _added(asked: Asked, cell: CellRows, working: Working, order: int, end: int) -> int:
    """What it costs an order that a portion of it ends then."""
    before = max(0, working.ready[order] - asked.due[order])
    return int(cell.late * asked.weight[order] * max(0, end - asked.due[order] - before))


@lean
def _held_back(
    asked: Asked, cell: CellRows, working: Working, which: tuple[int, int, int], patience: int
) -> tuple[int, int]:
    """Start and furnace of the best new load: as late as patience and due date allow, for others to join."""
    portion, ready, limit = which
    order, family = asked.order[portion], asked.family[portion]
    offset, length = len(cell.holds) + len(cell.oven_room), cell.fire[family]
    best, start, chosen = NEVER, cell.horizon, -1
    due = asked.due[order]
    for furnace in cell.furnace_turn:
        if not cell.furnace_may[furnace, family] or asked.shelves[portion] > cell.furnace_room[furnace]:
            continue
        early = gap(working, offset + furnace, ready, length, cell.furnace_starts)
        if early + length >= cell.horizon:
            continue
        late = max(early, min(early + patience, due - length))
        late = gap(working, offset + furnace, late, length, cell.furnace_starts) if late > early else early
        if late > early + patience or late + length > due > early + length or late > limit:
            late = early
        value = _added(asked, cell, working, order, late + length) + cell.firing[furnace]
        if value < best or (value == best and late < start):
            best, start, chosen = value, late, furnace
    return start, chosen
