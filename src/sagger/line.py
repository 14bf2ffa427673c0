"""The process, in order; read this first.

`make(verb, *inputs)` calls the verb, unless the ledger already holds what it gave for these very inputs.
In tests it is a plain call.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from typing import Any

from sagger.goods.cell import Cell
from sagger.goods.factors import Factors
from sagger.goods.green import Green
from sagger.goods.job import Build, Job
from sagger.goods.layout import Layout
from sagger.goods.learned import Approved
from sagger.goods.order import Choices, Order
from sagger.goods.part import Part
from sagger.goods.shape import PartFile
from sagger.goods.stack import Stack, Tally
from sagger.stations import bed as powder_bed
from sagger.stations import cost, cure, cycle, depowder, dosing, intake, layers, mould, nest, shrink, sinter

Make = Callable[..., Any]
Draw = Callable[[Stack], Tally]  # draws each layer once and counts it; the desk's also writes it


def run(
    order: Order, files: tuple[PartFile, ...], cell: Cell, approved: Approved, make: Make, draw: Draw
) -> Job:
    """One order, from part files to promise."""
    parts = check(order, files, cell, make)
    choices = intake.chosen(order.choices, cell.powder)
    bed = make(powder_bed.spread, cell.powder, cell.lot, choices)
    cell = dataclasses.replace(cell, powder=bed.powder)  # from here on the powder is the lot on the shelf
    greens, factors = prepare(parts, cell, approved, choices, make)
    layouts = nested(greens, cell, approved, choices, make)
    builds = tuple(build(layout, cell, choices, make, draw) for layout in layouts)
    doses, sintered, cast = tuple(each.dose for each in builds), None, None
    if cell.furnace is None:  # sand stops after the oven
        cast = make(mould.judge, parts, doses, cell.powder, cell.lot, choices)
    else:
        sintered = make(sinter.plan, greens, doses, cell.powder, cell.binder, cell.furnace)
    quote = make(cost.quote, order, greens, builds, sintered, cell, approved)
    return Job(
        order=order,
        cell=cell,
        bed=bed,
        parts=parts,
        factors=factors,
        builds=builds,
        sintered=sintered,
        quote=quote,
        mould=cast,
    )


def check(order: Order, files: tuple[PartFile, ...], cell: Cell, make: Make) -> tuple[Part, ...]:
    """What was asked for, looked at part by part."""
    pairs = zip(order.requests, files, strict=True)
    asked = intake.asked(intake.chosen(order.choices, cell.powder))
    return tuple(make(intake.check, request, file, cell, asked) for request, file in pairs)


def prepare(
    parts: tuple[Part, ...], cell: Cell, approved: Approved, choices: Choices, make: Make
) -> tuple[tuple[Green, ...], Factors]:
    """What must be printed so that the finished part is right."""
    factors = approved.factors or make(
        shrink.predict, cell.powder, choices, cell.lot.name if cell.lot else ""
    )
    greens = (make(shrink.compensate, part, factors) for part in parts)
    return tuple(bent(green, cell, approved, choices, make) for green in greens), factors


def bent(green: Green, cell: Cell, approved: Approved, choices: Choices, make: Make) -> Green:
    """The part, pre-deformed against its sag in the furnace if that was chosen."""
    method = green.part.request.sag or choices.sag
    if method == "factors":
        return green
    done: Green = make(sinter.predeform, green, cell.powder, cell.furnace, method, approved.bed)
    return done


def nested(
    greens: tuple[Green, ...], cell: Cell, approved: Approved, choices: Choices, make: Make
) -> tuple[Layout, ...]:
    """Where each piece lies, its foot between two layers; on the lattice of drops too if that was chosen."""
    spaced = make(layers.spacing, choices, cell.box, cell.head, cell.powder)
    if choices.by_place:
        layouts = make(nest.pack_by_place, greens, cell.box, spaced, approved.bed).layouts
    else:
        wishes = () if choices.nesting.places == "any" else (approved.bed,)
        layouts = make(nest.pack, greens, cell.box, spaced, *wishes).layouts
    return tuple(make(layers.settled, layout, cell.head, cell.powder, choices) for layout in layouts)


def build(layout: Layout, cell: Cell, choices: Choices, make: Make, draw: Draw) -> Build:
    """One box, from nest to clean green parts."""
    stack = make(layers.draw, layout, cell.head, cell.powder, choices)
    tally = draw(stack)
    noticed = make(layers.noticed, stack, tally, cell.head)
    dose = make(dosing.plan, stack, tally, cell.powder, cell.binder, cell.head, cell.box, choices)
    timetable = make(cycle.time, stack, tally, dose, cell.powder, cell.binder, cell.head, cell.box)
    cured = make(cure.plan, layout, dose, cell.powder, cell.binder, cell.oven)
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
