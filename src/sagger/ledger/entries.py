"""The book: entries that are only added, each with its rows, each sealed with the digest of the one before.

A correction is a new entry that names the one it replaces; both stay.
"""

from __future__ import annotations

import hashlib
import io
import json
from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime
from typing import Any

import sqlalchemy as sa

from sagger.errors import InputError, LedgerError
from sagger.goods.good import good
from sagger.ledger import tables
from sagger.ledger.store import Ledger

Rows = Mapping[str, Sequence[Mapping[str, Any]]]  # by table; columns left out are empty

OF_ENTRY = tuple(table for table in tables.metadata.sorted_tables if "entry" in table.columns)
MANY = 50  # rows from which on PostgreSQL takes them as a stream
_EMPTY: dict[type, Any] = {sa.Text: "", sa.String: "", sa.Boolean: False}


@good
class Sealed:
    """What looking through the whole book came to."""

    entries: int
    seal: str  # digest of the last entry: write it down elsewhere and no tail can be cut off unseen


def add(
    connection: sa.Connection, what: str, person: str, rows: Rows, note: str = "", corrects: int | None = None
) -> int:
    """Number of a new entry with its rows. Needs the write lock, so call it inside `ledger.writing()`.

    Raises
    ------
    InputError
        If there is no person.
    LedgerError
        If the entry to correct is of another kind, is none, or was corrected already.
    """
    if not person.strip():
        raise InputError("an entry in the ledger needs a person", field="person")
    if corrects is not None:
        _check_correction(connection, what, corrects)
    last = connection.execute(
        sa.select(tables.entry.c.id, tables.entry.c.digest).order_by(tables.entry.c.id.desc()).limit(1)
    ).first()
    number = last.id + 1 if last else 1
    head = {
        "id": number,
        "what": what,
        "person": person,
        "note": note,
        "at": datetime.now(UTC).isoformat(timespec="seconds"),
        "corrects": corrects,
        "before": last.digest if last else "",
    }
    filled = {table.name: _filled(connection, table, rows[table.name], number) for table in _used(rows)}
    values = [(table, [tuple(row.values()) for row in filled[table]]) for table in filled]
    connection.execute(sa.insert(tables.entry).values(**head, digest=_seal(head, values)))
    for table, made in filled.items():
        _insert(connection, tables.metadata.tables[table], made)
    return number


def superseded() -> sa.Select[Any]:
    """Selects the numbers of entries that a later one replaced."""
    return sa.select(tables.entry.c.corrects).where(tables.entry.c.corrects.is_not(None))


def check(ledger: Ledger) -> Sealed:
    """Looks through the book from its first entry to its last.

    Raises
    ------
    LedgerError
        At the first entry whose digest does not follow from its rows and the entry before.
    """
    before, count = "", 0
    with ledger.reading() as connection:
        kept = {table.name: _by_entry(connection, table) for table in OF_ENTRY}
        for head in connection.execute(sa.select(tables.entry).order_by(tables.entry.c.id)).mappings():
            facts = {key: head[key] for key in head if key != "digest"}
            rows = [(name, of[head["id"]]) for name, of in kept.items() if head["id"] in of]
            if head["before"] != before or head["digest"] != _seal(facts, rows):
                what = f"entry {head['id']} ({head['what']}, {head['at']}) was changed after it was written"
                raise LedgerError(f"{what}; restore the ledger from a copy made before")
            before, count = head["digest"], count + 1
    return Sealed(entries=count, seal=before)


def _check_correction(connection: sa.Connection, what: str, corrects: int) -> None:
    row = connection.execute(sa.select(tables.entry.c.what).where(tables.entry.c.id == corrects)).first()
    if row is None or row.what != what:
        found = "there is none of that number" if row is None else f"that is a {row.what}"
        raise LedgerError(f"entry {corrects} cannot be corrected by a {what}: {found}")
    later = sa.select(tables.entry.c.id).where(tables.entry.c.corrects == corrects)
    replaced = connection.execute(later).scalar()
    if replaced is not None:
        raise LedgerError(f"entry {corrects} was corrected by entry {replaced} already; correct that one")


def _used(rows: Rows) -> Iterable[sa.Table]:
    return (table for table in OF_ENTRY if rows.get(table.name))


def _filled(
    connection: sa.Connection, table: sa.Table, rows: Sequence[Mapping[str, Any]], entry: int
) -> list[dict[str, Any]]:
    """Rows with every column, numbered on from the last of their table."""
    first = (connection.execute(sa.select(sa.func.max(table.c.id))).scalar() or 0) + 1
    empty = {column.name: _empty(column) for column in table.columns}
    floats = [column.name for column in table.columns if isinstance(column.type, sa.Float)]
    made = []
    for place, row in enumerate(rows):
        one = {**empty, **row, "id": first + place, "entry": entry}
        for name in floats:
            if one[name] is not None:
                one[name] = float(one[name])
        made.append(one)
    return made


def _empty(column: sa.Column[Any]) -> Any:
    return None if column.nullable else _EMPTY.get(type(column.type))


def _insert(connection: sa.Connection, table: sa.Table, rows: list[dict[str, Any]]) -> None:
    if connection.dialect.name == "postgresql" and len(rows) > MANY:
        _copy(connection, table, rows)
    else:
        connection.execute(sa.insert(table), rows)


def _copy(connection: sa.Connection, table: sa.Table, rows: list[dict[str, Any]]) -> None:
    """Many rows in one stream: PostgreSQL answers each row of an insert, which takes five times as long."""
    lines = (",".join(map(_quoted, row.values())) for row in rows)
    stream = io.BytesIO("\n".join(lines).encode())
    columns = ", ".join(f'"{name}"' for name in rows[0])
    cursor = connection.connection.cursor()
    statement = f"COPY \"{table.name}\" ({columns}) FROM STDIN WITH (FORMAT csv, NULL '\\N')"
    cursor.execute(statement, stream=stream)  # type: ignore[call-arg]
    cursor.close()


def _quoted(value: Any) -> str:
    return "\\N" if value is None else '"' + str(value).replace('"', '""') + '"'


def _by_entry(connection: sa.Connection, table: sa.Table) -> dict[int, list[tuple[Any, ...]]]:
    found: dict[int, list[tuple[Any, ...]]] = {}
    place = list(table.columns.keys()).index("entry")
    for row in connection.execute(sa.select(table).order_by(table.c.id)):
        found.setdefault(row[place], []).append(tuple(row))
    return found


def _seal(head: Mapping[str, Any], rows: Iterable[tuple[str, list[tuple[Any, ...]]]]) -> str:
    state = hashlib.blake2b(digest_size=16)
    state.update(json.dumps(sorted(head.items())).encode())
    for name, values in rows:
        state.update(name.encode())
        state.update(json.dumps(values).encode())
    return state.hexdigest()
