"""Versions of the orders that the desk keeps."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path

import sqlalchemy as sa

from sagger.errors import LedgerError
from sagger.goods.record import VersionRecord
from sagger.ledger import sayings, tables
from sagger.ledger.store import Ledger


def add(
    ledger: Ledger,
    name: str,
    folder: Path,
    person: str,
    parent: int | None = None,
    changes: tuple[str, ...] = (),
) -> int:
    """Number of a new version; without a parent it begins an order of its own.

    Parameters
    ----------
    folder : Path
        Holds `order.toml` and the part files it names. Nothing in it is changed afterwards.
    changes : tuple of str
        What differs from the parent, in words.
    """
    row = {
        "name": name,
        "folder": str(folder),
        "parent": parent,
        "changes": json.dumps(list(changes), ensure_ascii=False),
        "person": person,
        "made": datetime.now(UTC).isoformat(timespec="seconds"),
    }
    column = tables.version.c
    with ledger.writing() as connection:
        before = _row(connection, parent) if parent is not None else None
        thread = before.thread if before else 0
        last = connection.execute(
            sa.select(sa.func.max(column.number)).where(column.thread == thread)
        ).scalar()
        row |= {"thread": thread, "number": (last or 0) + 1 if before else 1}
        new = int(connection.execute(sa.insert(tables.version).values(row)).inserted_primary_key[0])  # type: ignore[index]
        row |= {"id": new, "thread": thread or new}
        said = sayings.digest(tables.version, row)
        change = sa.update(tables.version).where(column.id == new)
        connection.execute(change.values(thread=row["thread"], said=said))
    return new


def one(ledger: Ledger, version: int) -> VersionRecord:
    """One version; `LedgerError` if there is none of that number."""
    with ledger.reading() as connection:
        return _row(connection, version)


def of_thread(ledger: Ledger, thread: int) -> list[VersionRecord]:
    """All versions of an order, newest first."""
    column = tables.version.c
    with ledger.reading() as connection:
        query = sa.select(tables.version).where(column.thread == thread).order_by(column.id.desc())
        return [_read(row) for row in connection.execute(query).mappings()]


def threads(ledger: Ledger) -> dict[int, int]:
    """Id of the first version of its order, for every version."""
    with ledger.reading() as connection:
        query = sa.select(tables.version.c.id, tables.version.c.thread)
        return {int(row.id): int(row.thread) for row in connection.execute(query)}


def _row(connection: sa.Connection, version: int) -> VersionRecord:
    query = sa.select(tables.version).where(tables.version.c.id == version)
    row = connection.execute(query).mappings().first()
    if row is None:
        raise LedgerError(f"there is no version {version} of any order")
    return _read(row)


def _read(row: sa.RowMapping) -> VersionRecord:
    known = dict(sayings.checked(tables.version, row)) | {"changes": tuple(json.loads(row["changes"]))}
    known.pop("said")
    return VersionRecord(**known)
