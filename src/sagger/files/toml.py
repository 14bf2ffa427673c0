"""Writing TOML: what `tomllib` reads comes back as it was, comments excepted."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping


def text(table: Mapping[str, object]) -> str:
    """A TOML file of text, numbers, truth values, lists, tables and lists of tables."""
    return "\n".join(_lines(table, ())).strip() + "\n"


def _lines(table: Mapping[str, object], path: tuple[str, ...]) -> Iterator[str]:
    for key, value in table.items():
        if not isinstance(value, Mapping) and not _rows(value):
            yield f"{_key(key)} = {_value(value)}"
    for key, value in table.items():
        here = (*path, key)
        name = ".".join(map(_key, here))
        if isinstance(value, Mapping):
            yield from ("", f"[{name}]", *_lines(value, here))
        for row in _rows(value):
            yield from ("", f"[[{name}]]", *_lines(row, here))


def _rows(value: object) -> list[Mapping[str, object]]:
    """The tables of a list of tables; none of anything else."""
    if not isinstance(value, list | tuple):
        return []
    tables = [row for row in value if isinstance(row, Mapping)]
    return tables if len(tables) == len(value) else []


def _key(key: str) -> str:
    plain = key.isascii() and key.replace("-", "").replace("_", "").isalnum()
    return key if plain else _value(key)


def _value(value: object) -> str:
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, list | tuple):
        return f"[{', '.join(map(_value, value))}]"
    raise TypeError(f"a TOML file holds no {type(value).__name__}")
