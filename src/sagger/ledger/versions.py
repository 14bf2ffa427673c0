"""Versions of the orders that the desk keeps, and the approvals of what was planned from them."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from sagger.errors import LedgerError
from sagger.ledger import tables
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
        thread = before["thread"] if before else 0
        last = connection.execute(
            sa.select(sa.func.max(column.number)).where(column.thread == thread)
        ).scalar()
        row |= {"thread": thread, "number": (last or 0) + 1 if before else 1}
        new = int(connection.execute(sa.insert(tables.version).values(row)).inserted_primary_key[0])  # type: ignore[index]
        if not before:
            connection.execute(sa.update(tables.version).where(column.id == new).values(thread=new))
    return new


def one(ledger: Ledger, version: int) -> dict[str, Any]:
    """One version; `LedgerError` if there is none of that number."""
    with ledger.reading() as connection:
        return _row(connection, version)


def of_thread(ledger: Ledger, thread: int) -> list[dict[str, Any]]:
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


def approve(ledger: Ledger, job: int, plan_digest: str, person: str, note: str) -> int:
    """Number of the entry that says who approved the plan of a job."""
    row = {
        "job": job,
        "plan_digest": plan_digest,
        "person": person,
        "note": note,
        "made": datetime.now(UTC).isoformat(timespec="seconds"),
    }
    with ledger.writing() as connection:
        return int(connection.execute(sa.insert(tables.approval).values(row)).inserted_primary_key[0])  # type: ignore[index]


def approvals(ledger: Ledger) -> dict[int, dict[str, Any]]:
    """The newest approval of each job that has one, by job number."""
    with ledger.reading() as connection:
        query = sa.select(tables.approval).order_by(tables.approval.c.id)
        return {int(row["job"]): dict(row) for row in connection.execute(query).mappings()}


def _row(connection: sa.Connection, version: int) -> dict[str, Any]:
    query = sa.select(tables.version).where(tables.version.c.id == version)
    row = connection.execute(query).mappings().first()
    if row is None:
        raise LedgerError(f"there is no version {version} of any order")
    return _read(row)


def _read(row: sa.RowMapping) -> dict[str, Any]:
    return dict(row) | {"changes": json.loads(row["changes"])}
