"""Readings and the instruments they were taken with. A correction is a new reading that names the old one."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import Any

import sqlalchemy as sa

from sagger.errors import InputError, LedgerError
from sagger.goods.reading import Instrument, Reading
from sagger.ledger import boxes, entries, tables
from sagger.ledger.store import Ledger

_SAME = (
    *("kind", "state", "value", "u", "u_shared", "instrument", "unit", "axis", "feature", "nominal", "box"),
    *("piece", "part", "lot", "load", "tray", "place", "taken", "person"),
)


def add(ledger: Ledger, readings: Sequence[Reading], person: str, note: str = "") -> int:
    """Number of the entry that holds these readings; a reading with `corrects` replaces that one.

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
        _check_corrections(connection, [row["corrects"] for row in rows if row["corrects"]])
        return entries.add(connection, "readings", person, {"reading": rows}, note)


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
    query = sa.select(table).where(table.c.id.not_in(_replaced())).order_by(table.c.id)
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
    query = sa.select(tables.reading).where(table.box == box, table.piece == piece)
    rows = connection.execute(query.where(table.id.not_in(_replaced())).order_by(table.id)).all()
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
        return entries.add(connection, "instrument", person, {"instrument": [row]}, note)


def _row(reading: Reading) -> dict[str, Any]:
    row = {name: getattr(reading, name) for name in _SAME}
    row["corrects"] = reading.corrects or None
    for axis, place in zip("xyz", reading.at_mm or (None,) * 3, strict=True):
        row[f"{axis}_mm"] = place
    return row


def _reading(row: Any, known: boxes.Known) -> Reading:
    own = row._mapping
    said = {name: own[name] for name in _SAME}
    at = (own["x_mm"], own["y_mm"], own["z_mm"])
    said["at_mm"] = None if at[0] is None else at
    said |= {"number": own["id"], "corrects": own["corrects"] or 0}
    for name, value in known.of(own["box"], own["piece"]).items():
        if not said.get(name):
            said[name] = value
    return Reading(**said)


def _replaced() -> sa.Select[Any]:
    return sa.select(tables.reading.c.corrects).where(tables.reading.c.corrects.is_not(None))


def _check_corrections(connection: sa.Connection, numbers: list[int]) -> None:
    if not numbers:
        return
    there = set(
        connection.execute(sa.select(tables.reading.c.id).where(tables.reading.c.id.in_(numbers))).scalars()
    )
    replaced = set(connection.execute(_replaced()).scalars())
    for number in numbers:
        if number not in there:
            raise LedgerError(f"there is no reading {number} to correct")
        if number in replaced or numbers.count(number) > 1:
            raise LedgerError(f"reading {number} was replaced already; correct the one that replaced it")
