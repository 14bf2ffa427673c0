"""Rows that hold what was read of a line of the drawing, by its number or its name."""

from __future__ import annotations

import difflib
from typing import NamedTuple

from sagger import units
from sagger.files.cells import Bad, Cells, RowFacts
from sagger.goods import balloon
from sagger.goods.asked_line import AskedLine
from sagger.goods.balloon import Balloon
from sagger.goods.reading import Reading

SAID = ("axis", "feature", "nominal")  # columns that the drawing fills


class RowLine(NamedTuple):
    """The line of a row, and which of its features was read."""

    asked: AskedLine
    number: Balloon

    @property
    def quantity(self) -> str:
        """What an instrument for it reads."""
        return "angle" if self.asked.unit == "deg" else "length"


def line(cells: Cells, lines: tuple[AskedLine, ...]) -> RowLine:
    """What a row is of.

    Raises
    ------
    Bad
        If the drawing of its piece has no such line or feature, or the row says what the drawing says.
    """
    text = cells.get("dimension", "").strip()
    if not text:
        raise Bad("dimension", "this is empty; give the number of the line, as on the traveller")
    if not lines:
        what = f"no drawing is known of piece {cells['piece']!r} in box {cells['box']!r}"
        raise Bad("dimension", f"{what}; book the box from its job (`sagger book box`)")
    for name in SAID:
        if cells.get(name):
            raise Bad(name, "the drawing says this; leave it empty where a dimension is given")
    number = balloon.read(text)
    named = [one for one in lines if one.name == text]
    if len(named) == 1:
        return RowLine(named[0], Balloon(named[0].number))
    if number is None or named:
        raise Bad("dimension", _unknown(text, lines))
    return _numbered(number, lines)


def reading(of: RowLine, measured: tuple[float, float, float], common: RowFacts) -> Reading:
    """The reading: value, its own uncertainty and the one it shares [SI]."""
    (value, u, u_shared), asked = measured, of.asked
    if value < 0 or (value == 0 and not asked.zone):
        raise Bad("value", f"{_article(asked.kind)} is {'0 or more' if asked.zone else 'above 0'}")
    nominal = None if asked.nominal is None else units.read(f"{asked.nominal!r} {asked.unit}", of.quantity)
    return Reading(
        kind="dimension",
        feature=asked.feature(of.number),
        value=value,
        u=u,
        u_shared=u_shared,
        unit=asked.unit,
        nominal=nominal,
        **common,
    )


def _numbered(number: Balloon, lines: tuple[AskedLine, ...]) -> RowLine:
    asked = next((one for one in lines if one.number == number.line), None)
    if asked is None:
        raise Bad("dimension", f"the drawing has lines 1 to {len(lines)}, no {number.line}")
    if number.feature > asked.features or (number.feature and asked.features == 1):
        own = "one feature" if asked.features == 1 else f"{asked.features} features"
        remedy = f"write {', '.join(map(str, asked.numbers[:2]))}" + (", …" if asked.features > 2 else "")
        raise Bad("dimension", f"line {number.line} ({asked.what}) has {own}, no {number}; {remedy}")
    return RowLine(asked, number)


def _unknown(text: str, lines: tuple[AskedLine, ...]) -> str:
    names = [one.name for one in lines if one.name]
    if names.count(text) > 1:
        return f"several lines are called {text!r}; give the number, as on the traveller"
    near = difflib.get_close_matches(text, names, n=1)
    remedy = f"did you mean {near[0]!r}?" if near else "give its number, 7 or 7.2, as on the traveller"
    return f"no line of the drawing is called {text!r}; {remedy}"


def _article(kind: str) -> str:
    return f"{'an' if kind[0] in 'aeiou' else 'a'} {kind}"
