"""Readings and the instruments they were taken with. A correction is a new reading that names the old one."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import sqlalchemy as sa

from sagger.errors import InputError, LedgerError
from sagger.goods.reading import Instrument, Reading
from sagger.ledger import boxes, entries, tables
from sagger.ledger.store import Found, Ledger, Row

_SAME = (
    *("kind", "state", "value", "u", "u_shared", "instrument", "unit", "axis", "feature", "nominal", "box"),
    *("piece", "part", "lot", "load", "tray", "place", "taken", "person"),
)


def add(
    ledger: Ledger, readings: Sequence[Reading], person: str, note: str = "", *, once: bool = False
) -> int:
    """Number of the entry that holds these readings; a reading with `corrects` replaces that one.

    `once` refuses what the newest readings of this person say already.

    Raises
    ------
    InputError
        If there is no reading or no person.
    LedgerError
        If a reading to correct is none, or was replaced already.
    """
    if not readings:
        raise InputError("there is no reading to keep", field="readings")
    rows = [_row(reading) for reading in readings]
    with ledger.writing() as connection:
        corrected = [reading.corrects for reading in readings if reading.corrects]
        _check_in_force(connection, corrected, "correct")
        if once and not corrected:
            entries.refuse_twin(connection, "readings", person, {"reading": rows}, note)
        return entries.add(connection, "readings", person, {"reading": rows}, note)


def void(ledger: Ledger, numbers: Sequence[int], person: str, reason: str) -> int:
    """Number of the entry by which readings no longer count; they stay where they are.

    Raises
    ------
    InputError
        If there is no reading, no person or no reason.
    LedgerError
        If one of them is none, or counts no longer already.
    """
    if not numbers or not reason.strip():
        raise InputError("readings are voided by number, for a reason", field="reading, reason")
    rows: list[Row] = [{"reading": number, "reason": reason} for number in numbers]
    with ledger.writing() as connection:
        _check_in_force(connection, list(numbers), "void")
        return entries.add(connection, "void", person, {"voided": rows})


def loaded(ledger: Ledger, mark: str) -> int | None:
    """Number of the entry of readings whose note ends with this mark of a file, or None.

    Where all of them were voided the file may be taken again.
    """
    entry, reading = tables.entry.c, tables.reading.c
    counting = reading.id.not_in(sa.select(tables.voided.c.reading))
    query = (
        sa.select(entry.id)
        .join(tables.reading, reading.entry == entry.id)
        .where(entry.what == "readings", entry.note.endswith(mark), counting)
        .limit(1)
    )
    with ledger.reading() as connection:
        number: int | None = connection.execute(query).scalar()
    return number


def listed(
    ledger: Ledger, *, kind: str = "", state: str = "", box: str = "", piece: str = "", powder: str = ""
) -> tuple[Reading, ...]:
    """Readings in force, oldest first; what a reading does not say itself is filled in from the book.

    Parameters
    ----------
    kind, state, box, piece : str
        Only these; "" = all.
    powder : str
        Name of a card: only readings of pieces from boxes that were booked with it.
    """
    table = tables.reading
    query = sa.select(table).where(_counts()).order_by(table.c.id)
    for column, asked in ((table.c.kind, kind), (table.c.state, state), (table.c.box, box)):
        query = query.where(column == asked) if asked else query
    query = query.where(table.c.piece == piece) if piece else query
    with ledger.reading() as connection:
        known = boxes.known(connection, box)
        found = (_reading(row, known) for row in connection.execute(query))
        return tuple(reading for reading in found if not powder or reading.powder == powder)


def of_piece(connection: sa.Connection, box: str, piece: str) -> list[tuple[int, Reading]]:
    """Readings of one piece in force, each after the number of its entry."""
    table = tables.reading.c
    query = sa.select(tables.reading).where(table.box == box, table.piece == piece, _counts())
    rows = connection.execute(query.order_by(table.id)).all()
    known = boxes.known(connection, box)
    return [(row.entry, _reading(row, known)) for row in rows]


def instruments(ledger: Ledger) -> dict[str, Instrument]:
    """Every instrument by name, as it was last entered."""
    names = [field.name for field in dataclasses.fields(Instrument)]
    query = sa.select(*(tables.instrument.c[name] for name in names)).order_by(tables.instrument.c.id)
    with ledger.reading() as connection:
        rows = connection.execute(query).mappings()
        return {row["name"]: Instrument(**row) for row in rows}


def enter_instrument(ledger: Ledger, instrument: Instrument, person: str, note: str = "") -> int:
    """Number of the entry from which on this is what the instrument is worth.

    Raises
    ------
    InputError
        If it has no name or an uncertainty below 0.
    """
    doubts = (instrument.u, instrument.u_shared, instrument.u_shared_relative)
    if not instrument.name.strip():
        raise InputError("an instrument needs a name", field="name")
    if not all(u >= 0 for u in doubts):
        raise InputError("an uncertainty cannot be negative", field="u", value=min(doubts))
    row = {field.name: getattr(instrument, field.name) for field in dataclasses.fields(Instrument)}
    with ledger.writing() as connection:
        return entries.add_once(connection, "instrument", person, {"instrument": [row]}, note)


def _row(reading: Reading) -> Row:
    row = {name: getattr(reading, name) for name in _SAME}
    row["corrects"] = reading.corrects or None
    for axis, place in zip("xyz", reading.at_mm or (None,) * 3, strict=True):
        row[f"{axis}_mm"] = place
    return row


def _reading(row: Found, known: boxes.BookedPieces) -> Reading:
    own = row._mapping
    facts = {name: own[name] for name in _SAME}
    at = (row.x_mm, row.y_mm, row.z_mm)
    facts["at_mm"] = None if at[0] is None else at
    facts |= {"number": row.id, "corrects": row.corrects or 0}
    booked = known.of(row.box, row.piece)
    for field in dataclasses.fields(booked):
        if not facts.get(field.name):
            facts[field.name] = getattr(booked, field.name)
    return Reading(**facts)


def _counts() -> sa.ColumnElement[bool]:
    """Whether a reading is in force: neither replaced nor voided."""
    number = tables.reading.c.id
    return number.not_in(_replaced()) & number.not_in(_voided())


def _replaced() -> sa.Select[int | None]:
    return sa.select(tables.reading.c.corrects).where(tables.reading.c.corrects.is_not(None))


def _voided() -> sa.Select[int]:
    return sa.select(tables.voided.c.reading)


def _check_in_force(connection: sa.Connection, numbers: list[int], deed: str) -> None:
    if not numbers:
        return
    there = set(
        connection.execute(sa.select(tables.reading.c.id).where(tables.reading.c.id.in_(numbers))).scalars()
    )
    replaced = set(connection.execute(_replaced()).scalars())
    voided = set(connection.execute(_voided()).scalars())
    for number in numbers:
        if number not in there:
            raise LedgerError(f"there is no reading {number} to {deed}")
        if number in voided:
            raise LedgerError(f"reading {number} was voided already")
        if number in replaced or numbers.count(number) > 1:
            raise LedgerError(f"reading {number} was replaced already; {deed} the one that replaced it")
