"""Rows that carry the digest of what they say: works, and versions of orders.

Both may be looked up before the job that uses them is sealed.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping

import sqlalchemy as sa

from sagger.errors import LedgerError
from sagger.ledger import tables
from sagger.ledger.seals import REMEDY

COVERED = {
    "work": ("key", "verb", "edition", "inputs", "output"),
    "version": ("id", "thread", "number", "parent", "name", "folder", "changes", "person", "made"),
}


def digest(table: sa.Table, row: Mapping[str, object] | sa.RowMapping) -> str:
    """Of what a row of `work` or `version` says; when, and how long it took, is left out."""
    said = [row[name] for name in COVERED[table.name]]
    return hashlib.blake2b(json.dumps(said).encode(), digest_size=16).hexdigest()


def checked(table: sa.Table, row: sa.RowMapping) -> sa.RowMapping:
    """The row, once it is what was written.

    Raises
    ------
    LedgerError
        If it was changed since.
    """
    if row["said"] != digest(table, row):
        first = COVERED[table.name][0]
        raise LedgerError(f"{table.name} {row[first]} was changed after it was written; {REMEDY}")
    return row


def say_again(connection: sa.Connection, version: int) -> None:
    """Write the digest of a version anew, once its folder was brought to another home."""
    column = tables.version.c
    row = connection.execute(sa.select(tables.version).where(column.id == version)).mappings().one()
    said = digest(tables.version, row)
    connection.execute(sa.update(tables.version).where(column.id == version).values(said=said))


def check(connection: sa.Connection) -> None:
    """Look at all of them; no version of a job and no result that a row names may be gone."""
    for table in (tables.work, tables.version):
        for row in connection.execute(sa.select(table)).mappings():
            checked(table, row)
    known = sa.select(tables.version.c.id)
    lost = sa.select(tables.job.c.id).where(
        tables.job.c.version.is_not(None), tables.job.c.version.not_in(known)
    )
    for number in connection.execute(lost.limit(1)).scalars():
        raise LedgerError(f"the version of the order that job {number} was made from was taken out; {REMEDY}")
    for table in tables.metadata.sorted_tables:
        for held in (each for each in table.c if each.references(tables.body.c.digest)):
            _kept(connection, table, held)


def _kept(connection: sa.Connection, table: sa.Table, held: sa.Column[str]) -> None:
    """That the results that a column names are there."""
    known = sa.select(tables.body.c.digest)
    lost = sa.select(held).where(held.is_not(None), held.not_in(known)).limit(1)
    for name in connection.execute(lost).scalars():
        raise LedgerError(f"what the table {table.name!r} names {name} was taken out; {REMEDY}")
