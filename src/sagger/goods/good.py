"""What a good is: frozen, light, without verbs, known by its digest."""

from __future__ import annotations

import dataclasses
import hashlib
import json
from collections.abc import Iterator, Mapping
from typing import Any, TypeVar, dataclass_transform

import numpy as np

T = TypeVar("T")


@dataclass_transform(frozen_default=True, kw_only_default=True, eq_default=False)
def good(cls: type[T]) -> type[T]:
    """A frozen, slotted, keyword-only dataclass whose arrays are copied once and made read-only."""

    names: list[str] = []  # asked once: a table of readings makes a hundred thousand goods

    def freeze(self: Any) -> None:
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
