"""What a field says, as the order file holds it, and the other way round."""

from __future__ import annotations

import types
import typing
from typing import Literal

from pydantic.fields import FieldInfo

from sagger.goods.good import plain
from sagger.goods.plain import Plain


def value(entry: object, key: FieldInfo) -> Plain:
    """What the order file should hold for an entry; None to leave the key out."""
    if entry in ("", None):
        return None
    allowed = kinds(key.annotation)
    if Literal in allowed:
        return [list(place) for place in entry] if isinstance(entry, tuple) else plain(entry)
    if bool in allowed:
        return entry == "yes"
    if int in allowed:
        return int(entry) if isinstance(entry, int | float) else None
    if float in allowed:
        return number(entry)
    if list in allowed:
        return _numbers(entry, key)
    return entry.strip() if isinstance(entry, str) else plain(entry)


def text(value: object) -> str:
    """A value of the order file as a field shows it; lists of lists part by semicolons."""
    if isinstance(value, list) and value and isinstance(value[0], list | tuple):
        return "; ".join(text(list(group)) for group in value)
    if isinstance(value, list):
        return " ".join(f"{item:g}" for item in value)
    return "" if value is None else str(value)


def _numbers(entry: object, key: FieldInfo) -> list[Plain]:
    """Numbers with spaces or commas between; groups of them, where those are asked for, with semicolons."""
    groups = [group.replace(",", " ").split() for group in str(entry).split(";")]
    rows = [[number(word) for word in group] for group in groups if group]
    if tuple in _inner(key.annotation):
        return [list(row) for row in rows]
    return [item for row in rows for item in row]


def number(text: object) -> float | str:
    """A number, or the text if it is none."""
    try:
        return float(str(text))
    except ValueError:
        return str(text)  # refused, with its field, by the order file's own rules


def kinds(annotation: object) -> set[object]:
    """What an annotation allows: str, float, list, Literal, …"""
    if typing.get_origin(annotation) in (typing.Union, types.UnionType):
        return {kind for part in typing.get_args(annotation) for kind in kinds(part)}
    if typing.get_origin(annotation) is typing.Annotated:
        return kinds(typing.get_args(annotation)[0])
    return {typing.get_origin(annotation) or annotation}


def _inner(annotation: object) -> set[object]:
    """Kinds of what a list holds."""
    return {kind for part in typing.get_args(annotation) for kind in kinds(part)}


def words(annotation: object) -> tuple[str, ...]:
    """The words of a Literal; none of anything else."""
    return typing.get_args(annotation) if typing.get_origin(annotation) is Literal else ()
