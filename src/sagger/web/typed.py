"""What was typed into a field, as the order file holds it, and the other way round."""

from __future__ import annotations

import types
import typing
from typing import Any, Literal

from pydantic.fields import FieldInfo


def value(said: Any, info: FieldInfo) -> Any:
    """What the order file should hold; None to leave the key out."""
    known = kinds(info.annotation)
    if said in ("", None):
        return None
    if Literal in known:
        return [list(each) for each in said] if isinstance(said, tuple) else said
    if bool in known:
        return said == "yes"
    if int in known:
        return int(said)
    if float in known:
        return number(said)
    if list in known:
        return _numbers(said, info)
    return said.strip() if isinstance(said, str) else said


def text(value: Any) -> str:
    """A value of the order file as a field shows it; lists of lists part by semicolons."""
    if isinstance(value, list) and value and isinstance(value[0], list | tuple):
        return "; ".join(text(list(each)) for each in value)
    if isinstance(value, list):
        return " ".join(f"{each:g}" for each in value)
    return "" if value is None else str(value)


def _numbers(said: Any, info: FieldInfo) -> list[Any]:
    """Numbers with spaces or commas between; groups of them, where those are asked for, with semicolons."""
    groups = [each.replace(",", " ").split() for each in str(said).split(";")]
    rows = [[number(word) for word in each] for each in groups if each]
    return rows if tuple in _inner(info.annotation) else [each for row in rows for each in row]


def number(text: Any) -> Any:
    """A number, or the text if it is none."""
    try:
        return float(text)
    except ValueError:
        return text  # refused, with its field, by the order file's own rules


def kinds(annotation: Any) -> set[Any]:
    """What an annotation allows: str, float, list, Literal, …"""
    if typing.get_origin(annotation) in (typing.Union, types.UnionType):
        return {kind for each in typing.get_args(annotation) for kind in kinds(each)}
    if typing.get_origin(annotation) is typing.Annotated:
        return kinds(typing.get_args(annotation)[0])
    return {typing.get_origin(annotation) or annotation}


def _inner(annotation: Any) -> set[Any]:
    """Kinds of what a list holds."""
    return {kind for each in typing.get_args(annotation) for kind in kinds(each)}


def words(annotation: Any) -> tuple[str, ...]:
    """The words of a Literal; none of anything else."""
    return typing.get_args(annotation) if typing.get_origin(annotation) is Literal else ()
