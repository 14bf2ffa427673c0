"""Free time of machines, boxes and powder: where the next thing fits, and putting it there. Compiled."""

from __future__ import annotations

import numpy as np

from sagger.compiled import lean
from sagger.stations.schedule.packed import STANDS, Asked, CellRows, Working


@lean
def first_start(table: np.ndarray, at: int) -> int:
    """First moment not before `at` at which a start is allowed; one beyond the table if there is none."""
    return int(table[at]) if at < len(table) else len(table)


@lean
def after(ends: np.ndarray, count: int, at: int) -> int:
    """Number of busy stretches that are over at a moment."""
    low, high = 0, count
    while low < high:
        middle = (low + high) // 2
        if ends[middle] <= at:
            low = middle + 1
        else:
            high = middle
    return low


@lean
def gap(working: Working, machine: int, at: int, length: int, table: np.ndarray) -> int:
    """Earliest start not before `at` on a machine that keeps no state; an empty table allows any moment."""
    begins, ends, count = working.begins[machine], working.ends[machine], working.busy[machine]
    place = after(ends, count, at)
    while True:
        if len(table):
            at = first_start(table, at)
        while place < count and ends[place] <= at:
            place += 1
        if place == count or at + length <= begins[place]:
            return at
        at = ends[place]
        place += 1


@lean
def print_gap(cell: CellRows, working: Working, printer: int, at: int, job: tuple[int, int]) -> int:
    """Earliest start not before `at` of a print (length, powder), with change-overs before and after it."""
    begins, ends = working.begins[printer], working.ends[printer]
    marks, count = working.marks[printer], working.busy[printer]
    length, powder = job
    place = after(ends, count, at)
    while True:
        before = place - 1
        while before >= 0 and marks[before] == STANDS:
            before -= 1
        if before >= 0:
            at = max(at, ends[before] + cell.change[marks[before], powder])
        elif cell.holds[printer] >= 0:
            at = max(at, cell.change[cell.holds[printer], powder])
        at = first_start(cell.print_starts, at)
        if place < count and ends[place] <= at:
            place += 1
            continue
        if place == count:
            return at
        follow = place
        while follow < count and marks[follow] == STANDS:
            follow += 1
        fits = at + length <= begins[place]
        if fits and follow < count:
            fits = at + length + cell.change[powder, marks[follow]] <= begins[follow]
        if fits:
            return at
        at = ends[place]
        place += 1


@lean
def put(working: Working, machine: int, stretch: tuple[int, int], mark: int) -> None:
    """Make a machine busy for a stretch (begin, end)."""
    begins, ends, marks = working.begins[machine], working.ends[machine], working.marks[machine]
    place = working.busy[machine]
    while place > 0 and begins[place - 1] > stretch[0]:
        begins[place], ends[place], marks[place] = begins[place - 1], ends[place - 1], marks[place - 1]
        place -= 1
    begins[place], ends[place], marks[place] = stretch[0], stretch[1], mark
    working.busy[machine] += 1


@lean
def open_run(runs: np.ndarray, number: int, machine: int, kind: int, stretch: tuple[int, int]) -> None:
    """Write down a new heat or load, empty so far."""
    runs[0, number], runs[1, number] = machine, kind
    runs[2, number], runs[3, number] = stretch[0], stretch[1] - stretch[0]
    runs[4, number] = 0


@lean
def last_full(working: Working, size: int, limit: int, stretch: tuple[int, int]) -> int:
    """Last moment of a stretch (begin, end) at which every box of a size is taken; -1 if there is none."""
    moments, taken = working.steps[size, 0], working.steps[size, 1]
    count = working.changes[size]
    place = after(moments, count, stretch[1] - 1) - 1
    while True:
        if taken[place] >= limit:
            return int(min(stretch[1], moments[place + 1] if place + 1 < count else stretch[1])) - 1
        if moments[place] <= stretch[0]:
            return -1
        place -= 1


@lean
def take_box(working: Working, size: int, begin: int, end: int) -> None:
    """A box of a size is taken for a stretch."""
    first = _step(working, size, begin)
    last = _step(working, size, end)
    for place in range(first, last):
        working.steps[size, 1, place] += 1


@lean
def _step(working: Working, size: int, at: int) -> int:
    """Place of the step at a moment, made if there is none."""
    moments, taken = working.steps[size, 0], working.steps[size, 1]
    place = int(working.changes[size])
    while moments[place - 1] > at:
        place -= 1
    if moments[place - 1] == at:
        return place - 1
    for later in range(working.changes[size], place, -1):
        moments[later], taken[later] = moments[later - 1], taken[later - 1]
    moments[place], taken[place] = at, taken[place - 1]
    working.changes[size] += 1
    return place


@lean
def powder_there(cell: CellRows, working: Working, powder: int, amount: int, at: int) -> int:
    """First moment not before `at` from which on this much of a powder is never missing."""
    if not cell.counted[powder]:
        return at
    level, least = 0, int(cell.horizon)
    for row in range(working.number[2]):
        if working.powder[row, 1] == powder:
            level += working.powder[row, 2]
    for row in range(working.number[2] - 1, -1, -1):
        if level < amount:
            return least
        if working.powder[row, 1] != powder:
            continue
        moment = int(working.powder[row, 0])
        if moment <= at:
            return at
        level -= working.powder[row, 2]
        least = moment
    return at if level >= amount else least


@lean
def take_powder(asked: Asked, cell: CellRows, working: Working, build: int) -> None:
    """Book what a build takes when its print begins and gives back once it was emptied and sieved."""
    powder = asked.powder[build]
    if cell.counted[powder]:
        _book(working, working.start[build], powder, -asked.fed[build])
        _book(working, working.freed[build] + cell.sieving, powder, asked.back[build])


@lean
def _book(working: Working, moment: int, powder: int, amount: int) -> None:
    rows, place = working.powder, working.number[2]
    while place > 0 and rows[place - 1, 0] > moment:
        for column in range(3):
            rows[place, column] = rows[place - 1, column]
        place -= 1
    rows[place, 0], rows[place, 1], rows[place, 2] = moment, powder, amount
    working.number[2] += 1
