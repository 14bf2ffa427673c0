"""Tables of plan.json: rows of key, kind, meaning, and how the value is read from what the table is about."""

from __future__ import annotations

import math
import types
import typing
from collections.abc import Callable
from operator import attrgetter
from typing import Any, Literal, NamedTuple

from sagger.goods.good import SHARE
from sagger.units import UNITS, into
from sagger.views.plan.order import ORDER
from sagger.views.wording import noiseless

WORDS = {"W/m.K": "W_per_mK"}  # the end of a key that does not follow from the unit's signs
Read = str | Callable[[Any], object]  # a path of names to a value, or what gives it


class PlanRow(NamedTuple):
    """One key of a table."""

    key: str
    kind: object  # float, int, str, bool, a Literal, a PlanTable, or a list, tuple or dict of these
    meaning: str
    read: Callable[[Any], object]  # the value in what the table is about
    rounded: Callable[[float], float] = noiseless  # each figure in it, in the unit that the key names
    optional: bool = False  # null if there is none


class PlanTable(NamedTuple):
    """Keys that stand together, and what they are about."""

    name: str
    meaning: str
    rows: tuple[PlanRow, ...]

    def document(self, subject: object) -> dict[str, Any]:
        """The table of one subject: plain texts, numbers, lists and mappings."""
        return {row.key: _printed(row.kind, row.read(subject), row) for row in self.rows}


def table(name: str, meaning: str, *rows: PlanRow) -> PlanTable:
    """A table of these rows, in the order of its keys."""
    first = ORDER.get(name, "").split()
    place = {key: index for index, key in enumerate(first)}
    return PlanTable(name, meaning, tuple(sorted(rows, key=lambda row: place.get(row.key, len(first)))))


def row(key: str, kind: object, meaning: str, read: Read = "", unit: str = "", **more: Any) -> PlanRow:
    """A row that no field says.

    Parameters
    ----------
    key, kind, meaning
        As in `PlanRow`.
    read : str or function
        Path of names to the value, or what gives it; empty: the key.
    unit : str
        Of the value, where the key ends in another.
    **more
        `optional` of `PlanRow`.
    """
    reader = attrgetter(read or key) if isinstance(read, str) else read
    return PlanRow(key, kind, meaning, reader, in_unit(unit, unit_of(key) if unit else ""), **more)


def pairs(name: str, meaning: str, *columns: PlanRow) -> PlanTable:
    """A table about a tuple: a row for each of its items."""
    placed = [each._replace(read=_item(place)) for place, each in enumerate(columns)]
    return PlanTable(name, meaning, tuple(placed))


def key_of(stem: str, unit: str) -> str:
    """A key that ends in the unit of its value."""
    word = WORDS.get(unit) or unit.replace("%", "percent").replace("/", "_per_").replace(".", "_")
    return f"{stem}_{word}" if word else stem


def unit_of(key: str) -> str:
    """The unit that a key ends in."""
    return max((unit for unit in UNITS if f"_{key}".endswith(key_of("", unit))), key=len)


def listed(kind: object) -> object:
    """The kind of a list of these."""
    return types.GenericAlias(list, (kind,))


def in_unit(inside: str, shown: str, places: int | None = None) -> Callable[[float], float]:
    """What brings a value in the unit `inside` to the unit `shown`, and to decimals if they are given."""
    factor = 1.0 if inside in ("", SHARE) else UNITS[inside].factor

    def rounded(value: float) -> float:
        figure = float(value) if inside == shown else into(value * factor, shown)
        return noiseless(figure) if places is None else round(figure, places)

    return rounded


def _item(place: int) -> Callable[[Any], object]:
    return lambda subject: subject[place]


def _printed(kind: Any, value: Any, row: PlanRow) -> object:
    if value is None or (row.optional and kind is float and not math.isfinite(value)):
        return None
    if kind is float:
        return row.rounded(value)
    origin, inner = typing.get_origin(kind), typing.get_args(kind)
    if isinstance(kind, PlanTable):
        return kind.document(value)
    if origin is dict:
        return {name: _printed(inner[1], item, row) for name, item in dict(value).items()}
    if origin in (list, tuple):
        kinds = inner if origin is tuple else inner * len(value)
        return [_printed(one, item, row) for one, item in zip(kinds, value, strict=True)]
    return value if origin is Literal else kind(value)
