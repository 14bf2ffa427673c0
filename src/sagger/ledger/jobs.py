"""Jobs and their state: running, done, stopped (the process cannot), cancelled, failed, interrupted."""

from __future__ import annotations

import os
from datetime import UTC, datetime
from pathlib import Path
from socket import gethostname
from typing import Any

import sqlalchemy as sa

from sagger.errors import LedgerError
from sagger.ledger import tables
from sagger.ledger.store import Ledger


def begin(ledger: Ledger, name: str, order_digest: str, folder: str, edition: str, start: str) -> int:
    """Number of a new job that this process runs."""
    row = {
        "name": name,
        "order_digest": order_digest,
        "folder": folder,
        "state": "running",
        "host": gethostname()[:80],
        "process": os.getpid(),
        "process_began": _began(os.getpid()),
        "began": datetime.now(UTC).isoformat(timespec="seconds"),
        "edition": edition,
        "start": start,
    }
    with ledger.writing() as connection:
        return int(connection.execute(sa.insert(tables.job).values(row)).inserted_primary_key[0])  # type: ignore[index]


def end(ledger: Ledger, job: int, state: str, message: str = "", plan_digest: str | None = None) -> None:
    """Close a job."""
    row = {
        "state": state,
        "message": message,
        "plan_digest": plan_digest,
        "ended": datetime.now(UTC).isoformat(timespec="seconds"),
    }
    with ledger.writing() as connection:
        connection.execute(sa.update(tables.job).where(tables.job.c.id == job).values(row))


def listed(ledger: Ledger) -> list[dict[str, Any]]:
    """All jobs, newest first. A running job whose process is gone is called interrupted."""
    with ledger.reading() as connection:
        query = sa.select(tables.job).order_by(tables.job.c.id.desc())
        return [_seen(dict(row)) for row in connection.execute(query).mappings()]


def one(ledger: Ledger, job: int) -> dict[str, Any]:
    """One job; `LedgerError` if there is none of that number."""
    with ledger.reading() as connection:
        row = connection.execute(sa.select(tables.job).where(tables.job.c.id == job)).mappings().first()
    if row is None:
        raise LedgerError(f"there is no job {job}; `sagger jobs` lists them")
    return _seen(dict(row))


def unfinished(ledger: Ledger, order_digest: str, folder: str) -> dict[str, Any] | None:
    """The newest job of this order into this folder that was interrupted, cancelled or failed, if any."""
    for row in listed(ledger):
        if row["order_digest"] == order_digest and row["folder"] == folder:
            return row if row["state"] in ("interrupted", "cancelled", "failed") else None
    return None


def running(ledger: Ledger, folder: str) -> int | None:
    """Number of a job that is writing into this folder now, or None."""
    rows = (row for row in listed(ledger) if row["folder"] == folder and row["state"] == "running")
    return next((int(row["id"]) for row in rows), None)


def _seen(row: dict[str, Any]) -> dict[str, Any]:
    here = row["host"] in ("", gethostname()[:80])  # of a process on another bench nothing is known
    if row["state"] == "running" and here and _began(row["process"]) != row["process_began"]:
        row["state"] = "interrupted"
    return row


def _began(process: int) -> str:
    # The kernel's start tick tells a process from a later one that was given the same number.
    try:
        fields = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
    except OSError:
        return ""
    return fields[19]
