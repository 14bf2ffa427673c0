"""Writing TOML: what `tomllib` reads comes back as it was, comments excepted."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from typing import Any


def text(table: Mapping[str, Any]) -> str:
    """A TOML file of text, numbers, truth values, lists, tables and lists of tables."""
    return "\n".join(_lines(table, ())).strip() + "\n"


def _lines(table: Mapping[str, Any], path: tuple[str, ...]) -> Iterator[str]:
    for key, value in table.items():
        if not _is_table(value) and not _is_rows(value):
            yield f"{_key(key)} = {_value(value)}"
    for key, value in table.items():
        here = (*path, key)
        name = ".".join(map(_key, here))
        if _is_table(value):
            yield from ("", f"[{name}]", *_lines(value, here))
        elif _is_rows(value):
            for row in value:
                yield from ("", f"[[{name}]]", *_lines(row, here))


def _is_table(value: Any) -> bool:
    return isinstance(value, Mapping)


def _is_rows(value: Any) -> bool:
    return isinstance(value, list | tuple) and bool(value) and all(map(_is_table, value))


def _key(key: str) -> str:
    plain = key.isascii() and key.replace("-", "").replace("_", "").isalnum()
    return key if plain else _value(key)


def _value(value: Any) -> str:
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, list | tuple):
        return f"[{', '.join(map(_value, value))}]"
    raise TypeError(f"a TOML file holds no {type(value).__name__}")
