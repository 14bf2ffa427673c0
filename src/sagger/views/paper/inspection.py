"""The inspection table of a box: every size and line of the drawing by number, with room to write."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import NamedTuple

from sagger.goods import balloon
from sagger.goods.drawing import Dimension
from sagger.goods.job import Build, Job
from sagger.goods.part import Part
from sagger.goods.promised import Promise
from sagger.views.pictures.palette import letter
from sagger.views.wording import count, part_name
from sagger.views.words import drawn, odds

COLUMNS = 4  # for pieces that are measured


class InspectionRow(NamedTuple):
    """One line of the table."""

    balloon: str  # number in the drawing; of an overall size the part's letter and the axis
    what: str
    nominal: str
    limits: str
    datums: str
    chance: str
    of_many: bool = False  # a feature of the line above it


class InspectionTable(NamedTuple):
    """What is read of the pieces of one part."""

    letter: str
    part: str
    pieces: str
    columns: list[str]  # heads of the columns to write in: pieces of the box, where they are few
    rows: list[InspectionRow]
    wide: list[str]  # names of the figures that show the numbers, over the page
    small: list[str]  # and over half of it
    caption: str


def tables(job: Job, build: Build) -> list[InspectionTable]:
    """One for each part in the box whose drawing asks for something."""
    here = sorted({piece.part for piece in build.layout.pieces})
    return [_table(job, build, index) for index in here if job.parts[index].drawing is not None]


def _table(job: Job, build: Build, index: int) -> InspectionTable:
    part = job.parts[index]
    own = sorted(piece.number for piece in build.layout.pieces if piece.part == index)
    heads = [f"piece {number}" for number in own] if len(own) <= COLUMNS else ["piece"] * COLUMNS
    return InspectionTable(
        letter=letter(index),
        part=f"{letter(index)} {part_name(part)}",
        pieces=f"{count(len(own), 'piece')} in this box, {part.request.started} in all boxes",
        columns=heads + [""] * (COLUMNS - len(heads)),
        rows=[*_sizes(job, index), *_lines(job, index, part)],
        wide=[],
        small=[],
        caption="",
    )


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
    features = Counter(one.line for one in part.asked)
    asked = dict(balloon.numbered(part.drawing.dimensions, part.drawing.tolerances))
    for row in drawn.lines(part.drawing):
        line, known = asked[row.number], promised.get(row.number)
        size = isinstance(line, Dimension) and line.nominal is not None
        numbers = balloon.every(row.number, features[row.number])
        many = f"{len(numbers)} × " if len(numbers) > 1 else ""
        machined = ", cut after sintering" if line.machined_mm is not None else ""
        yield InspectionRow(
            balloon=str(row.number),
            what=f"{many}{row.kind}{machined}",
            nominal=row.nominal if size else "",
            limits=row.limits,
            datums=row.datums,
            chance=odds.percent(known.chance) if known else "–",
        )
        if len(numbers) > 1:
            yield from (InspectionRow(str(one), "", "", row.limits, "", "", of_many=True) for one in numbers)
