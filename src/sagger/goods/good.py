"""What a good is: frozen, light, without verbs, known by its digest."""

from __future__ import annotations

import dataclasses
import hashlib
import json
from collections.abc import Iterator, Mapping
from typing import Any, Generic, TypeVar, dataclass_transform

import numpy as np

from sagger.goods.plain import Plain, Table

T = TypeVar("T")
SHARE = "share"  # unit of a part of one, which people read in percent


class Key(str, Generic[T]):
    """Digest under which a value of type T is kept in the ledger."""

    __slots__ = ()


def holds(
    meaning: str,
    unit: str = "",
    *,
    shown: str = "",
    one_of: tuple[str, ...] = (),
    length: int = 0,
    **given: Any,
) -> Any:
    """A field that is told to people: what it holds, in which unit, and in which unit they read it.

    Whatever prints goods (plan.json, its schema and its page of the manual) reads it here.

    Parameters
    ----------
    meaning : str
        What the field holds, in a few words that follow its name.
    unit : str
        Of the value in the field, a word of units.py or "share"; empty for texts, counts and pure numbers.
    shown : str
        Unit that people read it in; empty: the trade's usual one for that unit.
    one_of : tuple of str
        The texts that the field may hold; empty: any.
    length : int
        Of an array that always has one length; 0: any.
    **given
        `default` or `default_factory`, as of a dataclass.
    """
    told = {"meaning": meaning, "unit": unit, "shown": shown, "one_of": one_of, "length": length}
    return dataclasses.field(metadata=told, **given)


@dataclass_transform(frozen_default=True, kw_only_default=True, eq_default=False, field_specifiers=(holds,))
def good(cls: type[T]) -> type[T]:
    """A frozen, slotted, keyword-only dataclass whose arrays are copied once and made read-only."""

    names: list[str] = []  # asked once: a table of readings makes a hundred thousand goods

    def freeze(self: object) -> None:
        for name in names:
            value = getattr(self, name)
            if isinstance(value, np.ndarray) and value.flags.writeable:
                value = value.copy()
                value.flags.writeable = False
                object.__setattr__(self, name, value)

    cls.__post_init__ = freeze  # type: ignore[attr-defined]
    made = dataclasses.dataclass(frozen=True, slots=True, kw_only=True, eq=False)(cls)
    names += [field.name for field in dataclasses.fields(made)]  # type: ignore[arg-type]
    return made


def plain(value: object) -> Plain:
    """A value as JSON holds it: goods and named rows by field, arrays and tuples as lists.

    Raises
    ------
    TypeError
        If JSON holds no such thing.
    """
    if value is None or isinstance(value, str | int | float):
        return value
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {field.name: plain(getattr(value, field.name)) for field in dataclasses.fields(value)}
    if isinstance(value, tuple) and hasattr(value, "_asdict"):
        return {name: plain(item) for name, item in value._asdict().items()}
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, tuple | list):
        return [plain(item) for item in value]
    if isinstance(value, np.ndarray | np.generic):
        return plain(value.tolist())
    raise TypeError(f"JSON holds no {type(value).__name__}")


def document(schema: str, value: object) -> Table:
    """A good as a document of its own: the name of its schema, then its fields."""
    fields = plain(value)
    if not isinstance(fields, dict):
        raise TypeError(f"a document is made of a good, not of {type(value).__name__}")
    return {"schema": schema, **fields}


def digest(value: object) -> str:
    """Name of a value by its content: 32 hex digits, equal for equal content, whatever made it.

    Raises
    ------
    TypeError
        If `value` holds anything but goods, numbers, text, arrays, and rows or mappings of these.
    """
    state = hashlib.blake2b(digest_size=16)
    for token in _tokens(value):
        state.update(len(token).to_bytes(8, "little"))
        state.update(token)
    return state.hexdigest()


def _tokens(value: object) -> Iterator[bytes]:
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        yield f"good {type(value).__name__}".encode()
        for field in dataclasses.fields(value):
            yield field.name.encode()
            yield from _tokens(getattr(value, field.name))
    elif isinstance(value, np.ndarray):
        yield f"array {value.dtype.str} {value.shape}".encode()
        yield np.ascontiguousarray(value).tobytes()
    elif isinstance(value, Mapping):
        yield f"mapping {len(value)}".encode()
        for key in sorted(value, key=repr):
            yield from _tokens(key)
            yield from _tokens(value[key])
    elif isinstance(value, tuple | list):
        yield f"row {len(value)}".encode()
        for item in value:
            yield from _tokens(item)
    elif isinstance(value, np.generic):
        yield from _tokens(value.item())
    elif value is None or isinstance(value, bool | int | float | str):
        yield json.dumps([type(value).__name__, value]).encode()
    else:
        raise TypeError(f"no digest for {type(value).__name__}")
