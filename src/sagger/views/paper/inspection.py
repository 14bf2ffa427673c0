"""The inspection table of a box: every size and line of the drawing by number, with room to write."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from sagger.goods.drawing import Dimension
from sagger.goods.job import Build, Job
from sagger.goods.part import Part
from sagger.goods.promised import Promise
from sagger.views.pictures.palette import letter
from sagger.views.wording import part_name
from sagger.views.words import drawn, odds


class InspectionRow(NamedTuple):
    """One line of the table."""

    balloon: str  # letter of the part, and the number in its drawing or the axis of an overall size
    what: str
    nominal: str
    limits: str
    datums: str
    chance: str


class InspectionTable(NamedTuple):
    """What is read of the pieces of one part."""

    part: str
    pieces: str
    rows: list[InspectionRow]


def tables(job: Job, build: Build) -> list[InspectionTable]:
    """One for each part in the box whose drawing asks for something."""
    here = sorted({piece.part for piece in build.layout.pieces})
    return [
        InspectionTable(
            part=f"{letter(index)} {part_name(job.parts[index])}",
            pieces=f"{job.parts[index].request.started} pieces in all boxes",
            rows=[*_sizes(job, index), *_lines(job, index, job.parts[index])],
        )
        for index in here
        if job.parts[index].drawing is not None
    ]


def _sizes(job: Job, index: int) -> Iterator[InspectionRow]:
    for size in job.promised.sizes:
        if size.part == index:
            yield InspectionRow(
                balloon=f"{letter(index)} {size.dimension}",
                what=f"overall size along {size.dimension}",
                nominal=f"{size.nominal_mm:.3f} mm",
                limits=_ends(size),
                datums="",
                chance=odds.percent(size.chance),
            )


def _ends(size: Promise) -> str:
    return f"{size.lower_mm:.3f} to {size.upper_mm:.3f}"


def _lines(job: Job, index: int, part: Part) -> Iterator[InspectionRow]:
    if part.drawing is None:
        return
    promised = {line.line: line for line in job.promised.lines if line.part == index}
    asked: tuple[drawn.Line, ...] = (*part.drawing.dimensions, *part.drawing.tolerances)
    for line, row in zip(asked, drawn.lines(part.drawing), strict=True):
        known = promised.get(row.number)
        size = isinstance(line, Dimension) and line.nominal is not None
        many = f"{known.features} × " if known is not None and known.features > 1 else ""
        machined = ", cut after sintering" if line.machined_mm else ""
        yield InspectionRow(
            balloon=f"{letter(index)}{row.number}",
            what=f"{many}{row.kind}{machined}",
            nominal=row.nominal if size else "",
            limits=row.limits,
            datums=row.datums,
            chance=odds.percent(known.chance) if known else "–",
        )
