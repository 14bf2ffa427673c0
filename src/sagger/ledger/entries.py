"""The book: entries that are only added, each with its rows, each sealed with the digest of the one before.

A correction is a new entry that names the one it replaces; both stay.
"""

from __future__ import annotations

import hashlib
import io
import json
from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime, timedelta
from numbers import Real

import sqlalchemy as sa

from sagger.errors import InputError, LedgerError
from sagger.goods.good import good
from sagger.ledger import seals, tables
from sagger.ledger.store import Ledger, Row

Rows = Mapping[str, Sequence[Mapping[str, object]]]  # by table; columns left out are empty
Values = tuple[object, ...]  # of a row, in the order of its columns

OF_ENTRY = tuple(table for table in tables.metadata.sorted_tables if "entry" in table.columns)
CLOCK = "clock"  # an entry that says that the clock is right now
BACK = timedelta(minutes=10)  # that the clocks of two benches may differ
MANY = 50  # rows from which on PostgreSQL takes them as a stream
_EMPTY: dict[type, str | bool] = {sa.Text: "", sa.String: "", sa.Boolean: False}


@good
class Sealed:
    """What looking through the whole book came to."""

    entries: int
    seal: str  # digest of the last entry: write it down elsewhere and no tail can be cut off unseen


def add(
    connection: sa.Connection, kind: str, person: str, rows: Rows, note: str = "", corrects: int | None = None
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
        _check_correction(connection, kind, corrects)
    newest = sa.select(tables.entry.c.id, tables.entry.c.digest, tables.entry.c.at)
    last = connection.execute(newest.order_by(tables.entry.c.id.desc()).limit(1)).first()
    at = datetime.now(UTC).isoformat(timespec="seconds")
    if kind != CLOCK:
        _refuse_backwards(at, last.at if last else "")
    number = last.id + 1 if last else 1
    head = {
        "id": number,
        "what": kind,
        "person": person,
        "note": note,
        "at": at,
        "corrects": corrects,
        "before": last.digest if last else "",
    }
    filled = {table.name: _filled(connection, table, rows[table.name], number) for table in _used(rows)}
    values = [(table, [tuple(row.values()) for row in filled[table]]) for table in filled]
    connection.execute(sa.insert(tables.entry).values(**head, digest=_seal(head, values)))
    for table, made in filled.items():
        _insert(connection, tables.metadata.tables[table], made)
    return number


def twin(
    connection: sa.Connection, kind: str, person: str, rows: Rows, note: str = ""
) -> tuple[int, str] | None:
    """Number and time of the newest entry of its kind by this person, if it says this already, word for word.

    Whoever gives a command again because the first was cut off cannot know whether it had been booked.
    """
    table = tables.entry.c
    query = sa.select(table.id, table.at, table.note).where(table.what == kind, table.person == person)
    last = connection.execute(query.order_by(table.id.desc()).limit(1)).first()
    if last is None or last.note != note:
        return None
    for of in OF_ENTRY:
        held = connection.execute(sa.select(of).where(of.c.entry == last.id).order_by(of.c.id)).mappings()
        asked = _filled(connection, of, rows.get(of.name, ()), 0)
        if [_said(dict(row)) for row in held] != [_said(row) for row in asked]:
            return None
    return last.id, last.at


def add_once(connection: sa.Connection, kind: str, person: str, rows: Rows, note: str = "") -> int:
    """Number of a new entry, or of the newest one of its kind by this person if it says just this already.

    For what means nothing a second time. As `add` otherwise.
    """
    booked = twin(connection, kind, person, rows, note)
    return booked[0] if booked else add(connection, kind, person, rows, note)


def newest(ledger: Ledger) -> int:
    """Number of the newest entry; 0 if there is none."""
    with ledger.reading() as connection:
        return int(connection.execute(sa.select(sa.func.max(tables.entry.c.id))).scalar() or 0)


def clock_right(connection: sa.Connection, person: str, reason: str) -> int:
    """Number of the entry that says that the clock is right; of the newest one, if that says so already."""
    newest = connection.execute(sa.select(sa.func.max(tables.entry.c.id))).scalar()
    said = twin(connection, CLOCK, person, {}, reason)
    return said[0] if said and said[0] == newest else add(connection, CLOCK, person, {}, reason)


def refuse_twin(connection: sa.Connection, kind: str, person: str, rows: Rows, note: str = "") -> None:
    """Refuse what was booked already, where a second one would count beside the first.

    Raises
    ------
    InputError
        With the number of that entry.
    """
    if booked := twin(connection, kind, person, rows, note):
        what = f"entry {booked[0]} of {booked[1]} says just this already"
        remedy = "If the first was cut off, all is well: it is booked. If this is a second one, say --again."
        raise InputError(what, field=kind, remedy=remedy)


def _said(row: Mapping[str, object]) -> dict[str, object]:
    return {name: row[name] for name in row if name not in ("id", "entry", "replaces", "made")}


def _refuse_backwards(at: str, last: str) -> None:
    """Refuse an entry from before the newest one: a clock was set back, and the order would be lost."""
    if last and datetime.fromisoformat(at) < datetime.fromisoformat(last) - BACK:
        what = f"the clock of this machine says {at}, and the newest entry is of {last}"
        raise LedgerError(
            f"{what}; nothing was booked. Set the clock right; if the other was ahead, say so: "
            "sagger ledger clock --person NAME --reason WHY"
        )


def superseded() -> sa.Select[int | None]:
    """Selects the numbers of entries that a later one replaced."""
    return sa.select(tables.entry.c.corrects).where(tables.entry.c.corrects.is_not(None))


def check(ledger: Ledger) -> Sealed:
    """Looks through the book from its first entry to its last.

    Raises
    ------
    LedgerError
        At the first entry whose digest does not follow from its rows and the entry before.
    """
    before, count, sound = "", 0, ""
    with ledger.reading() as connection:
        by_table = {table.name: _by_entry(connection, table) for table in OF_ENTRY}
        for head in connection.execute(sa.select(tables.entry).order_by(tables.entry.c.id)).mappings():
            facts = {key: head[key] for key in head if key != "digest"}
            rows = [(name, of[head["id"]]) for name, of in by_table.items() if head["id"] in of]
            if head["before"] != before or head["digest"] != _seal(facts, rows):
                wrong = f"entry {head['id']} ({head['what']}, {head['at']}) was changed after it was written"
                since = f"; the entries before it, until {sound}, are sound" if sound else ""
                raise LedgerError(f"{wrong}{since}; {seals.REMEDY}")
            before, count, sound = head["digest"], count + 1, head["at"]
        numbers = set(connection.execute(sa.select(tables.entry.c.id)).scalars())
        for name, of in by_table.items():
            for strange in of.keys() - numbers:
                wrong = f"a row of {name} belongs to entry {strange}, which is gone"
                raise LedgerError(f"{wrong}: the end of the book was cut off; {seals.REMEDY}")
        seals.check(connection)
    return Sealed(entries=count, seal=before)


def _check_correction(connection: sa.Connection, kind: str, corrects: int) -> None:
    row = connection.execute(sa.select(tables.entry.c.what).where(tables.entry.c.id == corrects)).first()
    if row is None or row.what != kind:
        found = "there is none of that number" if row is None else f"that is a {row.what}"
        raise LedgerError(f"entry {corrects} cannot be corrected by a {kind}: {found}")
    later = sa.select(tables.entry.c.id).where(tables.entry.c.corrects == corrects)
    replaced = connection.execute(later).scalar()
    if replaced is not None:
        raise LedgerError(f"entry {corrects} was corrected by entry {replaced} already; correct that one")


def _used(rows: Rows) -> Iterable[sa.Table]:
    return (table for table in OF_ENTRY if rows.get(table.name))


def _filled(
    connection: sa.Connection, table: sa.Table, rows: Sequence[Mapping[str, object]], entry: int
) -> list[Row]:
    """Rows with every column, numbered on from the last of their table."""
    first = (connection.execute(sa.select(sa.func.max(table.c.id))).scalar() or 0) + 1
    empty = {column.name: _empty(column) for column in table.columns}
    floats = [column.name for column in table.columns if isinstance(column.type, sa.Float)]
    made = []
    for place, row in enumerate(rows):
        one = {**empty, **row, "id": first + place, "entry": entry}
        for name in floats:
            value = one[name]
            if type(value) is not float and isinstance(value, Real):  # an int, or a number of numpy's
                one[name] = float(value)
        made.append(one)
    return made


def _empty(column: sa.Column[object]) -> str | bool | None:
    return None if column.nullable else _EMPTY.get(type(column.type))


def _insert(connection: sa.Connection, table: sa.Table, rows: list[Row]) -> None:
    if connection.dialect.name == "postgresql" and len(rows) > MANY:
        _copy(connection, table, rows)
    else:
        connection.execute(sa.insert(table), rows)


def _copy(connection: sa.Connection, table: sa.Table, rows: list[Row]) -> None:
    """Many rows in one stream: PostgreSQL answers each row of an insert, which takes five times as long."""
    lines = (",".join(map(_quoted, row.values())) for row in rows)
    stream = io.BytesIO("\n".join(lines).encode())
    columns = ", ".join(f'"{name}"' for name in rows[0])
    cursor = connection.connection.cursor()
    statement = f"COPY \"{table.name}\" ({columns}) FROM STDIN WITH (FORMAT csv, NULL '\\N')"
    cursor.execute(statement, stream=stream)  # type: ignore[call-arg]
    cursor.close()


def _quoted(value: object) -> str:
    return "\\N" if value is None else '"' + str(value).replace('"', '""') + '"'


def _by_entry(connection: sa.Connection, table: sa.Table) -> dict[int, list[Values]]:
    rows: dict[int, list[Values]] = {}
    place = list(table.columns.keys()).index("entry")
    for row in connection.execute(sa.select(table).order_by(table.c.id)):
        rows.setdefault(row[place], []).append(tuple(row))
    return rows


def _seal(head: Mapping[str, object], rows: Iterable[tuple[str, list[Values]]]) -> str:
    state = hashlib.blake2b(digest_size=16)
    state.update(json.dumps(sorted(head.items())).encode())
    for name, values in rows:
        state.update(name.encode())
        state.update(json.dumps(values).encode())
    return state.hexdigest()
