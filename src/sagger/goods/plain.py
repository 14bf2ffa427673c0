"""Values as TOML and JSON files hold them, and goods read back from such values."""

from __future__ import annotations

import dataclasses
import functools
import types
import typing
from collections.abc import Mapping
from typing import Any, TypeVar

T = TypeVar("T")

Plain = str | int | float | bool | list["Plain"] | dict[str, "Plain"] | None
Table = dict[str, Plain]


def table(of: Mapping[str, object], key: str) -> Table:
    """A table in a table; a new empty one if it is not there."""
    inner = of.get(key)
    return inner if isinstance(inner, dict) else {}


def rows(of: Mapping[str, object], key: str) -> list[Table]:
    """The tables of a list of tables; none if it is not there."""
    inner = of.get(key)
    return [row for row in inner if isinstance(row, dict)] if isinstance(inner, list) else []


def text(of: Mapping[str, object], key: str) -> str:
    """A word in a table; "" if it is not there."""
    word = of.get(key)
    return word if isinstance(word, str) else ""


def restored(kind: type[T], value: object) -> T:
    """The good or named row that `good.plain` made a value of; what it does not know is left out.

    Raises
    ------
    ValueError
        If a field without a default is not there.
    """
    if not isinstance(value, Mapping):
        raise ValueError(f"a {kind.__name__} is read from a table, not from {type(value).__name__}")
    known = {
        name: _restored(hint, value[name])
        for name, hint in _hints(typing.cast("type", kind)).items()
        if name in value
    }
    try:
        return kind(**known)
    except TypeError as error:
        raise ValueError(str(error)) from None


@functools.cache
def _hints(kind: type) -> dict[str, Any]:
    return typing.get_type_hints(kind)


def _restored(hint: Any, value: Any) -> object:
    inner = typing.get_args(hint)
    if types.NoneType in inner:
        return None if value is None else _restored(inner[0], value)
    if inner[1:] == (...,):
        bare = inner[0] in (int, float, str)
        return tuple(value) if bare else tuple(_restored(inner[0], item) for item in value)
    named = isinstance(hint, type) and (dataclasses.is_dataclass(hint) or hasattr(hint, "_fields"))
    return restored(hint, value) if named else value
