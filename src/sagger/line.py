"""The process, in order; read this first.

`make(verb, *inputs)` calls the verb, unless the ledger already holds what it gave for these very inputs.
`plainly` is the one that remembers nothing.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from typing import ParamSpec, Protocol, TypeVar

from sagger.errors import InputError
from sagger.goods.bed import Bed
from sagger.goods.cell import Cell
from sagger.goods.cured import Cured
from sagger.goods.dose import Dose
from sagger.goods.factors import Carried, Conditions, Factors
from sagger.goods.good import Key
from sagger.goods.green import Green
from sagger.goods.job import Build, Job, JobSoFar
from sagger.goods.layout import Layout
from sagger.goods.learned import Approved, BedMap
from sagger.goods.order import Choices, Order
from sagger.goods.part import Part
from sagger.goods.powder import Powder
from sagger.goods.shape import PartFile
from sagger.goods.sintered import Sintered
from sagger.goods.stack import Stack, Tally
from sagger.stations import bed as powder_bed
from sagger.stations import (
    cost,
    cure,
    cycle,
    depowder,
    dosing,
    intake,
    layers,
    mould,
    nest,
    promise,
    shrink,
    sinter,
)

P = ParamSpec("P")
R = TypeVar("R")
Draw = Callable[[Stack], Tally]  # draws each layer once and counts it; the desk's also writes it


class Make(Protocol):
    """Gives what the verb gives for these inputs."""

    def __call__(self, verb: Callable[P, R], /, *inputs: P.args, **named: P.kwargs) -> R: ...


class Outputs(Protocol):
    """Keys of what a verb gave in one job so far, in the order in which it was asked."""

    def __call__(self, verb: Callable[..., R], /) -> Sequence[Key[R]]: ...


def plainly(verb: Callable[P, R], /, *inputs: P.args, **named: P.kwargs) -> R:
    """A `make` that calls."""
    return verb(*inputs, **named)


def run(
    order: Order, files: tuple[PartFile, ...], cell: Cell, approved: Approved, make: Make, draw: Draw
) -> Job:
    """One order, from part files to promise."""
    parts = check(order, files, cell, make)
    choices = intake.chosen(order.choices, cell.powder)
    places = asked_map(cell, approved, choices)
    bed = make(powder_bed.spread, cell.powder, cell.lot, choices)
    then, cell = cell.powder, with_bed(cell, bed)
    approved = dataclasses.replace(approved, carried=carried(parts, then, cell, approved, choices, make))
    greens, factors = prepare(parts, cell, approved, choices, make)
    greens = judged(greens, cell, approved, choices, make)
    layouts = nested(greens, cell, places, choices, make)
    builds = tuple(build(layout, cell, choices, make, draw) for layout in layouts)
    doses, sintered, cast = tuple(box.dose for box in builds), None, None
    if cell.furnace is None:  # sand stops after the oven
        cast = make(mould.judge, parts, doses, cell.powder, cell.lot, choices)
    else:
        sintered = fire(greens, doses, cell, make)
    promised = make(promise.state, order, greens, builds, sintered, cell, approved)
    quote = make(cost.quote, order, greens, builds, sintered, cell, promised)
    return Job(
        order=order,
        cell=cell,
        bed=bed,
        parts=parts,
        factors=factors,
        carried=approved.carried,
        builds=builds,
        sintered=sintered,
        promised=promised,
        quote=quote,
        mould=cast,
    )


def check(order: Order, files: tuple[PartFile, ...], cell: Cell, make: Make) -> tuple[Part, ...]:
    """What was asked for, looked at part by part."""
    pairs = zip(order.requests, files, strict=True)
    asked = intake.asked(intake.chosen(order.choices, cell.powder))
    return tuple(make(intake.check, request, file, cell, asked) for request, file in pairs)


def with_bed(cell: Cell, bed: Bed) -> Cell:
    """The cell from here on: its powder is the lot on the shelf, fired by the programme of the cell."""
    powder, asked = bed.powder, cell.powder.sintering
    if powder.sintering is not None and asked is not None:
        law = dataclasses.replace(powder.sintering, programme=asked.programme)
        powder = dataclasses.replace(powder, sintering=law)
    return dataclasses.replace(cell, powder=powder)


def prepare(
    parts: tuple[Part, ...], cell: Cell, approved: Approved, choices: Choices, make: Make
) -> tuple[tuple[Green, ...], Factors]:
    """What must be printed so that the finished part is right."""
    factors = approved.factors or make(
        shrink.predict, cell.powder, choices, cell.lot.name if cell.lot else ""
    )
    if approved.carried is not None and approved.carried.printed == "carried":
        factors = approved.carried.factors
    plain = dataclasses.replace(factors, conditions=None)  # sizes do not depend on where factors come from
    greens = (make(shrink.compensate, part, plain) for part in parts)
    return tuple(bent(green, cell, approved, choices, make) for green in greens), factors


def carried(
    parts: tuple[Part, ...], card: Powder, cell: Cell, approved: Approved, choices: Choices, make: Make
) -> Carried | None:
    """Approved factors under this job's conditions; None for the card's, or where nothing is fired."""
    factors = approved.factors
    if factors is None or factors.conditions is None or cell.furnace is None:
        return None
    then = as_known_now(factors.conditions, cell)
    factors = dataclasses.replace(factors, conditions=then)
    before = make(powder_bed.earlier, card, then)
    courses = shrink.Courses(
        make(sinter.foretell, before, approved.furnace or cell.furnace),
        make(sinter.foretell, cell.powder, cell.furnace),
    )
    return make(shrink.carry, factors, courses, cell, choices, approved.scatter, parts)


def as_known_now(then: Conditions, cell: Cell) -> Conditions:
    """Earlier conditions; of the very lot on the shelf with what is known of that lot by now."""
    law = cell.powder.sintering
    if law is None or cell.lot is None or then.lot != cell.lot.name:
        return then
    return dataclasses.replace(
        then,
        green_density=law.green_density.value,
        green_density_u=law.green_density.u,
        grain=cell.powder.d50.value,
    )


def bent(green: Green, cell: Cell, approved: Approved, choices: Choices, make: Make) -> Green:
    """The part, pre-deformed against its sag in the furnace if that was chosen."""
    method = green.part.request.sag or choices.sag
    if method == "factors":
        return green
    if cell.furnace is None:
        what, remedy = f"{cell.powder.title} is not sintered", 'Leave sag at "factors" for sand.'
        raise InputError(what, field="sag", value=method, remedy=remedy)
    return make(sinter.predeform, green, cell.powder, cell.furnace, method, approved.bed)


def asked_map(cell: Cell, approved: Approved, choices: Choices) -> BedMap | None:
    """The map of green density that pieces are placed by; None if that was not chosen."""
    if not choices.by_place and choices.nesting.places == "any":
        return None
    if approved.bed is None:
        table, key = ("choices", "by_place") if choices.by_place else ("nesting", "places")
        raise InputError(
            f"no map of the bed is approved for {cell.powder.name} in {cell.box.name}",
            field=f"[{table}], {key}",
            remedy=f"Print and measure coupons, then `sagger learn propose`; or leave {key} out.",
        )
    return approved.bed


def judged(
    greens: tuple[Green, ...], cell: Cell, approved: Approved, choices: Choices, make: Make
) -> tuple[Green, ...]:
    """The parts with the chance of a piece in each orientation, if the nest shall look at that."""
    if choices.nesting.prefer != "promise":
        return greens
    fired = None if cell.furnace is None else fire(greens, (), cell, make)  # sizes do not hang on binder
    raster = make(layers.raster, cell.head, cell.powder, choices)
    return make(promise.by_turn, greens, raster, fired, cell, approved, choices)


def nested(
    greens: tuple[Green, ...], cell: Cell, bed: BedMap | None, choices: Choices, make: Make
) -> tuple[Layout, ...]:
    """Where each piece lies, its foot between two layers; on the lattice of drops too if that was chosen."""
    spaced = make(layers.spacing, choices, cell.box, cell.head, cell.powder)
    if bed is None:
        packed = make(nest.pack, greens, cell.box, spaced)
    elif choices.by_place:
        packed = make(nest.pack_by_place, greens, cell.box, spaced, bed)
    else:
        packed = make(nest.pack, greens, cell.box, spaced, bed)
    return tuple(make(layers.settled, layout, cell.head, cell.powder, choices) for layout in packed.layouts)


def build(layout: Layout, cell: Cell, choices: Choices, make: Make, draw: Draw) -> Build:
    """One box, from nest to clean green parts."""
    stack = make(layers.draw, layout, cell.head, cell.powder, choices)
    tally = draw(stack)
    noticed = make(layers.noticed, stack, tally, cell.head)
    dose = make(dosing.plan, stack, tally, cell.powder, cell.binder, cell.head, choices)
    timetable = make(cycle.time, stack, tally, dose, cell.powder, cell.binder, cell.head)
    cured = oven(layout, dose, cell, make)
    depowdering = make(depowder.plan, layout, dose, cell.powder)
    return Build(
        layout=layout,
        stack=stack,
        tally=tally,
        noticed=noticed,
        dose=dose,
        timetable=timetable,
        cured=cured,
        depowdering=depowdering,
    )


def oven(layout: Layout, dose: Dose, cell: Cell, make: Make) -> Cured:
    """One box in the oven."""
    return make(cure.plan, layout, dose, cell.powder, cell.binder, cell.oven)


def fire(greens: tuple[Green, ...], doses: tuple[Dose, ...], cell: Cell, make: Make) -> Sintered:
    """The parts of an order in the furnace."""
    if cell.furnace is None:
        raise InputError(f"{cell.powder.title} is not fired", field="furnace")
    return make(sinter.plan, greens, doses, cell.powder, cell.binder, cell.furnace)


def so_far(outputs: Outputs) -> JobSoFar:
    """What a job has come to: pictures are drawn from it, and other programmes are tried on it."""
    return JobSoFar(
        parts=tuple(outputs(intake.check)),
        bed=next(iter(outputs(powder_bed.spread)), None),
        bent=tuple(outputs(sinter.predeform)),
        nested=bool(outputs(nest.pack) or outputs(nest.pack_by_place)),
        layouts=tuple(outputs(layers.settled)),
        stacks=tuple(outputs(layers.draw)),
        doses=tuple(outputs(dosing.plan)),
        cured=tuple(outputs(cure.plan)),
    )
