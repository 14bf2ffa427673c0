"""What was done: which verb, by which edition, from which inputs, to which output."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterable
from datetime import UTC, datetime
from typing import NamedTuple, TypeVar

import sqlalchemy as sa

from sagger.goods.good import Key
from sagger.ledger import bodies, sayings, tables
from sagger.ledger.store import Ledger, put_once

R = TypeVar("R")


class Work(NamedTuple):
    """A verb, done once: what identifies it."""

    key: str
    verb: str  # its name by room, "sagger.stations.nest.pack"
    edition: str  # of that room
    inputs: list[str]  # digests


class Use(NamedTuple):
    """A work that a job used."""

    work: Work
    output: str  # digest
    seconds: float  # it took when it was done
    remembered: bool  # it was there already


def named(verb: Callable[..., object]) -> tuple[str, str]:
    """The name that a verb is recorded under, by room, and the edition of the room that holds it.

    Raises
    ------
    TypeError
        If no room of the verb has an EDITION.
    """
    package = verb.__module__
    while package:
        edition = getattr(sys.modules[package], "EDITION", None)
        if edition is not None:
            return f"{package}.{verb.__name__}", str(edition)
        package = package.rpartition(".")[0]
    raise TypeError(f"{verb.__module__}.{verb.__name__} belongs to no room with an EDITION")


def short(verb: str) -> str:
    """A recorded name as a person reads it: "nest.pack"."""
    return verb.removeprefix("sagger.stations.")


def room(verb: Callable[..., object]) -> str:
    """The step that a verb belongs to: "nest" of `nest.pack`."""
    return short(named(verb)[0]).partition(".")[0]


def find(ledger: Ledger, key: str) -> str | None:
    """Digest of what the work named `key` gave, or None if it was never finished.

    Raises
    ------
    LedgerError
        If that was changed after it was written.
    """
    with ledger.reading() as connection:
        row = connection.execute(sa.select(tables.work).where(tables.work.c.key == key)).mappings().first()
    return None if row is None else str(sayings.checked(tables.work, row)["output"])


def by_input(ledger: Ledger, verb: str, edition: str) -> dict[str, str]:
    """What each work of a verb that gives text came to, by the digest of its only input."""
    work, body = tables.work, tables.body
    query = (
        sa.select(work, body.c.json, body.c.said.label("body_said"))
        .join(body, body.c.digest == work.c.output)
        .where(work.c.verb == verb, work.c.edition == edition)
    )
    with ledger.reading() as connection:
        rows = connection.execute(query).mappings().all()
    return {
        json.loads(row["inputs"])[0]: json.loads(row["json"])
        for row in rows
        if sayings.checked(work, row) and bodies.said(row["json"]) == row["body_said"]
    }


def record(ledger: Ledger, work: Work, output: object, seconds: float) -> None:
    """Keep what a work gave. A work that two processes finished at once is kept once."""
    row = {
        "key": work.key,
        "verb": work.verb,
        "edition": work.edition,
        "inputs": json.dumps(work.inputs),
        "output": bodies.put(ledger, output),
        "began": datetime.now(UTC).isoformat(timespec="seconds"),
        "seconds": seconds,
    }
    row["said"] = sayings.digest(tables.work, row)
    with ledger.writing() as connection:
        put_once(connection, tables.work, row)


def note_use(ledger: Ledger, job: int, key: str, *, remembered: bool) -> None:
    """Write down that a job used a work, and whether it was remembered or done for it."""
    with ledger.writing() as connection:
        connection.execute(sa.insert(tables.use).values(job=job, key=key, remembered=remembered))


def of_job(ledger: Ledger, job: int) -> list[Use]:
    """The works a job used, in order."""
    query = (
        sa.select(tables.work, tables.use.c.remembered)
        .join(tables.use, tables.use.c.key == tables.work.c.key)
        .where(tables.use.c.job == job)
        .order_by(tables.use.c.id)
    )
    with ledger.reading() as connection:
        rows = connection.execute(query).all()
    return [
        Use(
            Work(row.key, row.verb, row.edition, json.loads(row.inputs)),
            row.output,
            row.seconds,
            bool(row.remembered),
        )
        for row in rows
    ]


def outputs(used: Iterable[Use], verb: Callable[..., R]) -> tuple[Key[R], ...]:
    """Keys of what a verb gave, in the order in which it was asked."""
    name, _ = named(verb)
    return tuple(Key(use.output) for use in used if use.work.verb == name)
