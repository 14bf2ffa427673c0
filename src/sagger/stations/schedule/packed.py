"""A workload as the compiled part takes it: arrays in named rows; and a schedule in the making."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.goods.workload import Workload

STANDS = -2  # mark of a stretch in which a machine stands


class Asked(NamedTuple):
    """What has to be done. int64 unless said otherwise; see goods/workload.py."""

    release: ndarray
    printing: ndarray
    hands: ndarray
    powder: ndarray
    box: ndarray
    programme: ndarray
    room: ndarray
    printers: ndarray  # bool (n, printers)
    crews: ndarray  # bool (n, crews)
    fed: ndarray
    back: ndarray
    first: ndarray  # (n + 1,): portions of build j are portions[first[j] : first[j + 1]]
    portions: ndarray
    order: ndarray
    family: ndarray
    shelves: ndarray
    due: ndarray
    weight: ndarray


class CellRows(NamedTuple):
    """Machines and people. Machines are numbered on: printers, ovens, furnaces, then each person."""

    change: ndarray
    holds: ndarray
    print_starts: ndarray
    boxes: ndarray
    oven_room: ndarray
    oven_may: ndarray
    cure: ndarray
    oven_wait: ndarray
    oven_starts: ndarray
    furnace_room: ndarray
    furnace_may: ndarray
    fire: ndarray
    furnace_wait: ndarray
    furnace_starts: ndarray
    furnace_turn: ndarray  # furnaces, those first that the rest can spare most easily
    person_crew: ndarray  # (persons,)
    worked: ndarray  # (crews, n + 1)
    moments: ndarray  # (crews, most): filled up with moments beyond the calendar
    counted: ndarray  # bool (powders,)
    deliveries: ndarray  # (k, 3), by moment
    sieving: int
    late: int  # price of a weighted quarter
    changing: int
    firing: ndarray
    heating: ndarray
    now: int  # nothing begins before it
    horizon: int  # no start lies beyond it


class Working(NamedTuple):
    """A schedule in the making. Every machine has its busy stretches in order of time."""

    begins: ndarray  # (machines, most); of a person on the work clock
    ends: ndarray
    marks: ndarray  # powder of a print, number of a heat or load, STANDS
    busy: ndarray  # (machines,): how many stretches
    steps: ndarray  # (sizes, 2, most): moments at which other boxes are taken, and how many then
    changes: ndarray  # (sizes,): how many steps
    printer: ndarray  # (n,)
    start: ndarray
    heat: ndarray
    person: ndarray
    bench: ndarray
    freed: ndarray  # the moment a build's box is empty
    load: ndarray  # (m,)
    heats: ndarray  # (5, most): machine, kind, start, length, room taken
    loads: ndarray
    number: ndarray  # (3,): heats, loads, rows of `powder` so far
    ready: ndarray  # (orders,): end of the last portion placed so far
    powder: ndarray  # (most, 3): moment, powder, amount; by moment
    whole: ndarray  # all of the above in one row: a state is kept and taken back by copying it


def asked(work: Workload) -> Asked:
    """What has to be done, packed."""
    builds, portions = work.builds, work.portions
    counts = np.bincount(portions.build, minlength=len(builds.release))
    return Asked(
        **{name: _row(getattr(builds, name)) for name in Asked._fields[:11]},
        first=np.concatenate(([0], np.cumsum(counts))).astype(np.int64),
        portions=np.argsort(portions.build, kind="stable").astype(np.int64),
        order=_row(portions.order),
        family=_row(portions.family),
        shelves=_row(portions.shelves),
        due=_row(work.wishes.due),
        weight=_row(work.wishes.weight),
    )


def cell_rows(work: Workload, now: int = 0) -> CellRows:
    """The cell, packed."""
    ovens, furnaces, crews = work.ovens, work.furnaces, work.crews
    horizon = len(work.printers.starts) - 1
    most = max(len(clock.moments) for clock in crews.clocks) + 1
    moments = np.full((len(crews.clocks), most), horizon, dtype=np.int64)
    for row, clock in zip(moments, crews.clocks, strict=True):
        row[: len(clock.moments)] = clock.moments
    deliveries = work.stock.deliveries.reshape(-1, 3)
    return CellRows(
        change=_row(work.printers.change),
        holds=_row(work.printers.holds),
        print_starts=_row(work.printers.starts),
        boxes=_row(work.boxes.number),
        oven_room=_row(ovens.room),
        oven_may=_row(ovens.may),
        cure=_row(ovens.length),
        oven_wait=_row(ovens.wait),
        oven_starts=_row(ovens.starts),
        furnace_room=_row(furnaces.room),
        furnace_may=_row(furnaces.may),
        fire=_row(furnaces.length),
        furnace_wait=_row(furnaces.wait),
        furnace_starts=_row(furnaces.starts),
        furnace_turn=_turn(work),
        person_crew=np.repeat(np.arange(len(crews.people)), crews.people).astype(np.int64),
        worked=np.stack([clock.worked for clock in crews.clocks]).astype(np.int64),
        moments=moments,
        counted=_row(work.stock.counted),
        deliveries=_row(deliveries[np.argsort(deliveries[:, 1], kind="stable")][:, [1, 0, 2]]),
        sieving=work.stock.sieving,
        late=work.prices.late,
        changing=work.prices.changing,
        firing=_row(work.prices.firing),
        heating=_row(work.prices.heating),
        now=now,
        horizon=horizon,
    )


def blank(work: Workload) -> Working:
    """Nothing placed yet but what makes machines stand, and the powder on the shelf and to come."""
    shapes = _shapes(work)
    whole = np.full(sum(math.prod(shape) for shape in shapes.values()), -1, np.int64)
    parts, at = {}, 0
    for name, shape in shapes.items():
        parts[name] = whole[at : at + math.prod(shape)].reshape(shape)
        at += math.prod(shape)
    made = Working(**parts, whole=whole)
    made.busy[:], made.number[:], made.ready[:], made.changes[:] = 0, 0, 0, 1
    made.steps[:, 1, 0] = 0
    rows = cell_rows(work).deliveries
    made.powder[: len(rows)] = rows
    made.number[2] = len(rows)
    blocks = work.blocks
    for machine, begins, ends in sorted(zip(blocks.machine, blocks.begins, blocks.ends, strict=True)):
        place = made.busy[machine]
        made.begins[machine, place], made.ends[machine, place] = begins, ends
        made.marks[machine, place] = STANDS
        made.busy[machine] += 1
    return made


def _shapes(work: Workload) -> dict[str, tuple[int, ...]]:
    builds, portions, orders = len(work.builds.release), len(work.portions.build), len(work.wishes.due)
    machines = len(work.printers.holds) + len(work.ovens.room) + len(work.furnaces.room)
    machines += int(work.crews.people.sum())
    most = (machines, max(builds, portions) + len(work.blocks.machine) + 1)
    sizes = len(work.boxes.number)
    return {
        **{name: most for name in ("begins", "ends", "marks")},
        "busy": (machines,),
        "steps": (sizes, 2, 2 * builds + 2),
        "changes": (sizes,),
        **{name: (builds,) for name in ("printer", "start", "heat", "person", "bench", "freed")},
        "load": (portions,),
        "heats": (5, builds + 1),
        "loads": (5, portions + 1),
        "number": (3,),
        "ready": (orders,),
        "powder": (len(work.stock.deliveries) + 2 * builds, 3),
    }


def _turn(work: Workload) -> ndarray:
    """Furnaces by the firing time that could ask for them, least first: the rest can spare that one."""
    asked = np.bincount(
        work.portions.family[work.portions.family >= 0],
        weights=work.portions.shelves[work.portions.family >= 0],
        minlength=len(work.furnaces.length),
    )
    return np.argsort(work.furnaces.may @ (asked * work.furnaces.length), kind="stable").astype(np.int64)


def _row(row: ndarray) -> ndarray:
    """The kernels change nothing they are given, but a read-only array is another type to them."""
    return np.array(row, dtype=bool if row.dtype == bool else np.int64, order="C")
