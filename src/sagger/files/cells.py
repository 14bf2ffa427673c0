"""Cells of a row of measurements, by column; what cannot be read is named by its column."""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import datetime
from functools import lru_cache
from typing import TypedDict

from sagger import units
from sagger.errors import InputError

Cells = Mapping[str, str]


class RowFacts(TypedDict):
    """What a reading says apart from its value: fields of `goods.reading.Reading`."""

    box: str
    piece: str
    state: str
    instrument: str
    part: str
    lot: str
    load: str
    tray: str
    place: str
    person: str
    axis: str
    at_mm: tuple[float, float, float] | None
    corrects: int
    taken: str


class Bad(Exception):
    """What is wrong with a row, and in which column; read into a report, never shown as such."""

    def __init__(self, name: str, what: str):
        super().__init__(what)
        self.name, self.what = name, what


def value(cells: Cells, name: str, kind: str) -> tuple[float, str]:
    """A value in SI and its unit word; the unit stands with it or in the column `unit`.

    `kind` is one of units.py, or "" for hardness, whose scale is no unit and whose value stays as it is.
    """
    number, _, own = cells.get(name, "").strip().partition(" ")
    word = own.strip() or cells.get("unit", "")
    if not kind:
        if not word:
            raise Bad("unit", "hardness needs its scale, such as HV10")
        return finite(number, name), word
    factor = _factor(word, kind)
    if isinstance(factor, str):
        raise Bad(name if own else "unit", factor)
    return finite(number, name) * factor, word


def amount(cells: Cells, name: str, kind: str) -> float | None:
    """A value in SI, None if the cell is empty."""
    return value(cells, name, kind)[0] if cells.get(name) else None


def temperature(cells: Cells, name: str) -> float | None:
    """A temperature [K], in degC if the cell says no unit; None if it is empty."""
    text = cells.get(name, "").strip()
    if not text:
        return None
    try:
        return units.read(text if " " in text else f"{text} degC", "temperature")
    except InputError as error:
        raise Bad(name, f"{error.what}, not {text!r}") from None


def number(cells: Cells, name: str) -> float:
    """A bare number."""
    return finite(cells.get(name, ""), name)


def finite(text: str, name: str) -> float:
    """The number in `text`."""
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise Bad(name, f"a number is needed, not {text!r}")
    return value


def whole(cells: Cells, name: str) -> int:
    """A whole number, 0 if the cell is empty."""
    text = cells.get(name, "")
    if text and not text.isdecimal():
        raise Bad(name, f"a whole number is needed, not {text!r}")
    return int(text or 0)


def moment(cells: Cells, name: str) -> str:
    """An ISO date or time as text, "" if the cell is empty."""
    text = cells.get(name, "")
    try:
        if text:
            datetime.fromisoformat(text)
    except ValueError:
        raise Bad(name, f"an ISO date is needed, such as 2030-01-07, not {text!r}") from None
    return text


@lru_cache(maxsize=200)
def _factor(word: str, kind: str) -> float | str:
    """Factor to SI, or what is wrong with the unit."""
    try:
        return units.read(f"1 {word}" if word else "1", kind)
    except InputError as error:
        return f"{error.what}; {error.remedy}"
