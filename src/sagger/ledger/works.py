"""What was done: which verb, by which edition, from which inputs, to which output."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from typing import Any

import sqlalchemy as sa

from sagger.ledger import bodies, tables
from sagger.ledger.store import Ledger, put_once


def find(ledger: Ledger, key: str) -> str | None:
    """Digest of what the work named `key` gave, or None if it was never finished."""
    with ledger.reading() as connection:
        query = sa.select(tables.work.c.output).where(tables.work.c.key == key)
        return connection.execute(query).scalar_one_or_none()


def record(
    ledger: Ledger, key: str, verb: str, edition: str, inputs: list[str], output: object, seconds: float
) -> None:
    """Keep what a work gave. A work that two processes finished at once is kept once."""
    name = bodies.put(ledger, output)
    row = {
        "key": key,
        "verb": verb,
        "edition": edition,
        "inputs": json.dumps(inputs),
        "output": name,
        "began": datetime.now(UTC).isoformat(timespec="seconds"),
        "seconds": seconds,
    }
    with ledger.writing() as connection:
        put_once(connection, tables.work, row)


def note_use(ledger: Ledger, job: int, key: str, *, remembered: bool) -> None:
    """Write down that a job used a work, and whether it was remembered or done for it."""
    with ledger.writing() as connection:
        connection.execute(sa.insert(tables.use).values(job=job, key=key, remembered=remembered))


def of_job(ledger: Ledger, job: int) -> list[dict[str, Any]]:
    """The works a job used, in order: verb, edition, seconds, remembered, key, output."""
    query = (
        sa.select(tables.work, tables.use.c.remembered)
        .join(tables.use, tables.use.c.key == tables.work.c.key)
        .where(tables.use.c.job == job)
        .order_by(tables.use.c.id)
    )
    with ledger.reading() as connection:
        return [dict(row) for row in connection.execute(query).mappings()]
