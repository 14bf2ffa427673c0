"""The described fields of a good (`goods.good.holds`) as rows of plan.json, and its class as a table."""

from __future__ import annotations

import dataclasses
import functools
import inspect
import types
import typing
from collections.abc import Callable, Collection, Mapping
from operator import attrgetter
from typing import Any, Literal

from numpy import ndarray

from sagger.goods.good import SHARE
from sagger.views.plan.keys import DECIMALS, FORMS, ITSELF, KEYS, SPREAD
from sagger.views.plan.rows import PlanRow, PlanTable, in_unit, key_of, listed, table
from sagger.views.plan.worked_out import WORKED_OUT

TRADE = {"m": "mm", "s": "h", "K": "degC", "Pa": "kPa", "K/s": "K/min", SHARE: "%"}  # where a field says none


@functools.cache
def table_of(good: type) -> PlanTable:
    """The table of a good, as its class describes it."""
    about = inspect.cleandoc(good.__doc__ or "").partition("\n\n")[0].replace("\n", " ")
    return table(good.__name__, about, *rows(good), *WORKED_OUT.get(good, ()))


def rows(
    good: type, at: str = "", *, only: Collection[str] = (), omit: Collection[str] = ()
) -> list[PlanRow]:
    """The described fields of a good that lies at a path of names below what the table is about."""
    hints = typing.get_type_hints(good)
    described = [field for field in dataclasses.fields(good) if "meaning" in field.metadata]
    asked = [each for each in described if each.name not in omit and (not only or each.name in only)]
    placed = [(field, hints[field.name], f"{at}.{field.name}".lstrip(".")) for field in asked]
    return [row for each in placed for row in _rows(good, *each)]


def _rows(good: type, field: dataclasses.Field[Any], hint: Any, path: str) -> list[PlanRow]:
    return rows(hint, path) if hint in SPREAD else [_row(good, field, hint, path)]


def _row(good: type, field: dataclasses.Field[Any], hint: object, path: str) -> PlanRow:
    label, name = field.metadata, field.name
    written = FORMS.get(good, {}).get(name, ITSELF)
    inside = label["unit"]
    shown = label["shown"] or TRADE.get(inside, inside)
    own_key = key_of(name.removesuffix(f"_{inside}"), "" if written.kind else shown)
    kind, optional = (written.kind, False) if written.kind else _kind(hint, label)
    return PlanRow(
        key=KEYS.get(good, {}).get(name, own_key),
        kind=kind,
        meaning=label["meaning"].replace("None", "null"),
        read=_reader(path, written.read),
        rounded=in_unit(inside, shown, DECIMALS.get(good, {}).get(name)),
        optional=optional or written.optional,
    )


def _reader(path: str, last: Callable[[Any], object] | None) -> Callable[[Any], object]:
    reach = attrgetter(path)
    return (lambda subject: last(reach(subject))) if last else reach


def _kind(hint: object, label: Mapping[str, Any]) -> tuple[object, bool]:
    """What a field of this type prints, and whether it may be null."""
    inner = typing.get_args(hint)
    if types.NoneType in inner:
        return _kind(inner[0], label)[0], True
    if hint is ndarray:
        lengths = (float,) * label["length"]
        return types.GenericAlias(tuple, lengths) if lengths else list[float], False
    if inner[1:] == (...,):
        return listed(_kind(inner[0], label)[0]), False
    if inner:
        return types.GenericAlias(tuple, tuple(_kind(each, label)[0] for each in inner)), False
    if label["one_of"]:
        return Literal[label["one_of"]], False
    return (table_of(hint) if isinstance(hint, type) and dataclasses.is_dataclass(hint) else hint), False
