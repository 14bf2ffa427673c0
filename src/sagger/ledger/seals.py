"""A second strand beside the book: accounts and what jobs came to, each row sealed with the one before.

It is knotted to the book: every row holds number and digest of the newest entry. Neither strand can be
changed, nor its end cut off, without the other saying so.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

import sqlalchemy as sa

from sagger.errors import LedgerError
from sagger.ledger import tables

ACCOUNT, JOB, TIDIED = "account", "job", "tidied"
Facts = Mapping[str, object]
REMEDY = "nothing is planned from it. Restore a copy made before: sagger ledger restore COPY"


def add(connection: sa.Connection, subject: str, row: int, facts: Facts) -> None:
    """Seal what is true of a row of `subject` from now on. Needs the write lock."""
    table = tables.seal.c
    last = connection.execute(sa.select(table.id, table.digest).order_by(table.id.desc()).limit(1)).first()
    entry = connection.execute(
        sa.select(tables.entry.c.id, tables.entry.c.digest).order_by(tables.entry.c.id.desc()).limit(1)
    ).first()
    head: dict[str, object] = {
        "id": last.id + 1 if last else 1,
        "subject": subject,
        "row": row,
        "facts": json.dumps(facts, sort_keys=True),
        "at": datetime.now(UTC).isoformat(timespec="seconds"),
        "knot": entry.id if entry else None,
        "knot_digest": entry.digest if entry else "",
        "before": last.digest if last else "",
    }
    connection.execute(sa.insert(tables.seal).values(**head, digest=_digest(head)))


def of_account(row: Mapping[str, Any]) -> Facts:
    """What is sealed of an account."""
    secret = hashlib.blake2b(str(row["secret"]).encode(), digest_size=16).hexdigest()
    plain = {name: row[name] for name in ("name", "role", "made", "replaces")}
    return plain | {"secret": secret}


def of_job(connection: sa.Connection, job: int) -> Facts:
    """What is sealed of a job: its state, its plan, and all works it used with what they gave."""
    table = tables.job.c
    query = sa.select(table.state, table.order_digest, table.plan_digest).where(table.id == job)
    row = connection.execute(query).one()
    return {
        "state": row.state,
        "order": row.order_digest,
        "plan": row.plan_digest or "",
        **_works(connection, job),
    }


def _works(connection: sa.Connection, job: int) -> dict[str, object]:
    query = (
        sa.select(tables.work.c.key, tables.work.c.edition, tables.work.c.output)
        .join(tables.use, tables.use.c.key == tables.work.c.key)
        .where(tables.use.c.job == job)
        .order_by(tables.use.c.id)
    )
    state, count = hashlib.blake2b(digest_size=16), 0
    for work in connection.execute(query):
        state.update(json.dumps(list(work)).encode())
        count += 1
    return {"works": state.hexdigest(), "count": count}


def check(connection: sa.Connection) -> int:
    """Number of rows of the strand, once each follows from the one before and says wrong is true.

    Raises
    ------
    LedgerError
        With wrong does not fit, where, and since when.
    """
    before, sound, newest = "", "", dict[tuple[str, int], tuple[str, str]]()
    known = {
        row.id: row.digest for row in connection.execute(sa.select(tables.entry.c.id, tables.entry.c.digest))
    }
    for row in connection.execute(sa.select(tables.seal).order_by(tables.seal.c.id)).mappings():
        facts = {key: row[key] for key in row if key != "digest"}
        if row["before"] != before or row["digest"] != _digest(facts):
            of = f"{row['subject']} {row['row']}, {row['at']}"
            wrong = f"seal {row['id']} ({of}) was changed after it was written"
            raise LedgerError(f"{wrong}{_since(sound)}; {REMEDY}")
        if row["knot"] is not None and known.get(row["knot"]) != row["knot_digest"]:
            wrong = f"entry {row['knot']} is gone or another than on {row['at']}"
            raise LedgerError(f"{wrong}: the end of the book was cut off; {REMEDY}")
        before, sound = row["digest"], row["at"]
        newest[(row["subject"], row["row"])] = row["facts"], row["at"]
    _check_accounts(connection, newest)
    _check_jobs(connection, newest)
    return len(newest)


Sealed = Mapping[tuple[str, int], tuple[str, str]]  # facts and time by subject and row


def _check_accounts(connection: sa.Connection, sealed: Sealed) -> None:
    rows = {row["id"]: row for row in connection.execute(sa.select(tables.person)).mappings()}
    for number, row in rows.items():
        _same(f"the account of {row['name']!r}", sealed.get((ACCOUNT, number)), of_account(dict(row)))
    for (subject, number), (facts, at) in sealed.items():
        if subject == ACCOUNT and number not in rows:
            name = json.loads(facts)["name"]
            raise LedgerError(f"the account of {name!r}, opened or changed on {at}, was taken out; {REMEDY}")


def _check_jobs(connection: sa.Connection, sealed: Sealed) -> None:
    tidied = {number for subject, number in sealed if subject == TIDIED}
    table = tables.job.c
    for row in connection.execute(sa.select(table.id, table.name, table.state)).all():
        facts = sealed.get((JOB, row.id))
        if row.id in tidied or (facts is None and row.state in ("waiting", "running")):
            continue
        _same(f"what job {row.id} ({row.name!r}) came to", facts, of_job(connection, row.id))
    known = set(connection.execute(sa.select(table.id)).scalars())
    for (subject, number), (_, at) in sealed.items():
        if subject == JOB and number not in known:
            raise LedgerError(f"job {number}, which ended on {at}, was taken out; {REMEDY}")


def _same(thing: str, sealed: tuple[str, str] | None, now: Facts) -> None:
    if sealed is None:
        raise LedgerError(f"{thing} was written past the program; {REMEDY}")
    facts, at = sealed
    if facts != json.dumps(now, sort_keys=True):
        was = json.loads(facts)
        changed = ", ".join(key for key in sorted(now) if now[key] != was.get(key))
        raise LedgerError(f"{thing} was changed after {at} ({changed}); {REMEDY}")


def _since(sound: str) -> str:
    return f"; what was sealed until {sound} is sound" if sound else ""


def _digest(head: Mapping[str, object]) -> str:
    return hashlib.blake2b(json.dumps(sorted(head.items())).encode(), digest_size=16).hexdigest()
