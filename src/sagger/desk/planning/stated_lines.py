"""Datums and dimensions taken by clicking faces, kept beside a draft or a version until they are planned."""

from __future__ import annotations

import json
from pathlib import Path

from sagger.desk import uploads
from sagger.desk.home import home, write_whole
from sagger.goods.plain import Table, rows, text

KEYS = ("datum", "dimension")
_NOTE = ".lines.json"


def of_draft(token: str) -> Path:
    """Where the lines of a draft are kept.

    Raises
    ------
    InputError
        If no draft can have that name.
    """
    return uploads.folder(token) / _NOTE


def of_version(version: int) -> Path:
    """Where the lines are kept that are to change a version of an order."""
    return home() / "lines" / f"{int(version)}.json"


def kept(at: Path, file: str, body: str) -> Table | None:
    """The lines of one part that were kept; None if nothing was."""
    return _all(at).get(_key(file, body))


def keep(at: Path, file: str, body: str, lines: Table) -> None:
    """Keep the lines of one part in place of those before."""
    every = _all(at) | {_key(file, body): {key: rows(lines, key) for key in KEYS}}
    at.parent.mkdir(parents=True, exist_ok=True)
    write_whole(at, json.dumps(every).encode())


def forget(at: Path) -> None:
    """Throw away what was kept."""
    at.unlink(missing_ok=True)


def taken_in(tables: Table, at: Path) -> Table:
    """The tables of an order, the lines of each part those that were kept."""
    every = _all(at)
    parts = [
        _with(part, every.get(_key(text(part, "file"), text(part, "body")))) for part in rows(tables, "part")
    ]
    return {**tables, "part": [*parts]} if "part" in tables else tables


def _with(part: Table, lines: Table | None) -> Table:
    if lines is None:
        return part
    bare = {key: value for key, value in part.items() if key not in KEYS}
    return bare | _lists(lines)


def _lists(lines: Table) -> Table:
    return {key: [*rows(lines, key)] for key in KEYS if rows(lines, key)}


def _key(file: str, body: str) -> str:
    return json.dumps([file, body])


def _all(at: Path) -> dict[str, Table]:
    try:
        read = json.loads(at.read_text("utf-8"))
    except (OSError, ValueError):
        return {}
    return (
        {key: lines for key, lines in read.items() if isinstance(lines, dict)}
        if isinstance(read, dict)
        else {}
    )
