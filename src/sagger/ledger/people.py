"""Who may do what, and who has come in. Nothing is edited: a new row for a name replaces the one before."""

from __future__ import annotations

import hashlib
from datetime import UTC, datetime, timedelta

import sqlalchemy as sa

from sagger.goods.record import Person
from sagger.ledger import seals, tables
from sagger.ledger.store import Ledger

AHEAD_S = 120.0  # that the clocks of two benches may differ


def put(ledger: Ledger, name: str, role: str, secret: str) -> None:
    """Give a name a role and a secret; an empty role closes the account, and its sessions end."""
    before = named(ledger, name)
    row = {
        "name": name,
        "role": role,
        "secret": secret,
        "made": _at(),
        "replaces": before.id if before else None,
    }
    with ledger.writing() as connection:
        made = connection.execute(sa.insert(tables.person).values(row)).inserted_primary_key
        seals.add(connection, seals.ACCOUNT, int(made[0]), seals.of_account(row))  # type: ignore[index]


def listed(ledger: Ledger) -> list[Person]:
    """The people in force, by name; closed accounts are left out."""
    with ledger.reading() as connection:
        rows = connection.execute(sa.select(tables.person).order_by(tables.person.c.id)).mappings()
        newest = {row["name"]: Person(**row) for row in rows}
    return [newest[name] for name in sorted(newest) if newest[name].role]


def named(ledger: Ledger, name: str) -> Person | None:
    """The person of this name, or None."""
    return next((row for row in listed(ledger) if row.name == name), None)


def log_in(ledger: Ledger, person: int, token: str, hours: float) -> None:
    """Begin a session; only the digest of its token is kept."""
    ends = datetime.now(UTC) + timedelta(hours=hours)
    row = {
        "digest": _digest(token),
        "person": person,
        "made": _at(),
        "ends": ends.isoformat(timespec="seconds"),
    }
    with ledger.writing() as connection:
        connection.execute(sa.delete(tables.session).where(tables.session.c.ends < _at()))
        connection.execute(sa.insert(tables.session).values(row))


def of_session(ledger: Ledger, token: str) -> Person | None:
    """The person whose session this token is, if it has not ended and the account is still the same."""
    column = tables.session.c
    # A session of the future is one of a clock that was set back: it would outlast its hours.
    now = (column.ends > _at()) & (column.made <= _at(AHEAD_S))
    query = sa.select(column.person).where((column.digest == _digest(token)) & now)
    with ledger.reading() as connection:
        person = connection.execute(query).scalar_one_or_none()
    return next((row for row in listed(ledger) if row.id == person), None) if person else None


def log_out(ledger: Ledger, token: str) -> None:
    """End a session."""
    with ledger.writing() as connection:
        connection.execute(sa.delete(tables.session).where(tables.session.c.digest == _digest(token)))


def log_out_everywhere(ledger: Ledger, person: int) -> None:
    """End all sessions of a person."""
    with ledger.writing() as connection:
        connection.execute(sa.delete(tables.session).where(tables.session.c.person == person))


def _digest(token: str) -> str:
    return hashlib.blake2b(token.encode(), digest_size=32).hexdigest()


def _at(later_s: float = 0.0) -> str:
    return (datetime.now(UTC) + timedelta(seconds=later_s)).isoformat(timespec="seconds")
