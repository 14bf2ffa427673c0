"""Limits of dimensions with the steps of the tables that they name, whether order or part file names them."""

from __future__ import annotations

import dataclasses

from sagger import cards
from sagger.cards import fits
from sagger.errors import CardError, OrderError
from sagger.goods.drawing import Dimension, Drawing
from sagger.goods.stated import GeneralForm, StatedFace, StatedLimit, StatedLine
from sagger.statistics import tolerance

BY_CLASS = "limits by ISO 286-1, from memory: defer to the standard"  # a note on a dimension
LETTERS = "abcdefghijklmnopqrstuvxyz"


def with_table(line: StatedLine) -> StatedLine:
    """The line, its limit with the steps of its class or grade if it has one.

    Raises
    ------
    OrderError
        If the table has no such grade, or the class no figures for what is asked.
    """
    limit = line.limit
    if limit.kind == "general":
        return _with(line, dataclasses.replace(limit, steps=_general(line, limit.grade)))
    if limit.kind == "grade":
        try:
            return _with(line, _of_class(limit))
        except CardError as error:
            named = limit.letter + limit.grade
            raise OrderError(error.what, field="limit", value=named, remedy=error.remedy) from None
    return line


def with_form(general: GeneralForm | None) -> GeneralForm | None:
    """The general tolerance of form with its tables, if it is a class."""
    if general is None or general.kind != "iso2768":
        return general
    return dataclasses.replace(
        general,
        flatness=cards.iso2768_form("flatness", general.grade),
        squareness=cards.iso2768_form("perpendicularity", general.grade),
        runout_mm=cards.iso2768_form("runout", general.grade)[0][2],
    )


def with_classes(drawing: Drawing) -> Drawing:
    """The drawing of a part file, sizes that have a class but no figures with the limits of the class.

    A class that is not in the tables stays as it is: nothing is promised of it.
    """
    return dataclasses.replace(drawing, dimensions=tuple(map(_classed, drawing.dimensions)))


def _classed(size: Dimension) -> Dimension:
    letter, grade = size.fit.rstrip("0123456789"), size.fit.lstrip("ABCDEFGHIJKLMNOPQRSTUVXYZ" + LETTERS)
    if size.lower is not None or size.nominal is None or size.unit != "mm" or not grade:
        return size
    try:
        limit = _of_class(StatedLimit(kind="grade", letter=letter, grade=grade))
        lower, upper = tolerance.ends(size.nominal, limit)
    except (CardError, OrderError):
        return size
    return dataclasses.replace(size, lower=lower, upper=upper, notes=(*size.notes, BY_CLASS))


def _of_class(limit: StatedLimit) -> StatedLimit:
    return dataclasses.replace(limit, deviations=fits.deviations(limit.letter, limit.grade))


def _general(line: StatedLine, grade: str) -> tuple[tuple[float, float, float], ...]:
    """A radius of an outside edge has a table of its own; inside ones are lengths."""
    if line.what == "angle":
        return cards.iso2768_angles(grade)
    outside = isinstance(line.of, StatedFace) and line.of.kind == "pin"
    return cards.iso2768_edges(grade) if line.what == "radius" and outside else cards.iso2768(grade)


def _with(line: StatedLine, limit: StatedLimit) -> StatedLine:
    return dataclasses.replace(line, limit=limit)
