"""Readings and instruments: entering, loading tables, looking."""

from __future__ import annotations

import dataclasses
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from sagger import units
from sagger.desk.home import ledger
from sagger.errors import InputError
from sagger.files import cells as cell
from sagger.files import readings as tables_of_readings
from sagger.goods.good import good
from sagger.goods.reading import BadRow, Instrument, Reading
from sagger.ledger import Ledger, readings, tables
from sagger.tick import Tick, silent
from sagger.views import readings as view

FEW = 20  # bad rows told on a terminal; all stand in the document


@good
class Taken:
    document: dict[str, Any]
    lines: list[str]
    refused: bool  # some rows were not taken


def load(path: Path, person: str, note: str = "", *, tick: Tick = silent) -> Taken:
    """Take the good rows of a table into the ledger and say which were bad.

    Raises
    ------
    InputError
        If the file or its heading is refused, no row is good, or the same file was loaded before.
    """
    book = ledger()
    table = tables_of_readings.read(path, readings.instruments(book), tick=tick)
    mark = f"file {table.digest}"
    _refuse_twice(book, mark, path.name)
    if not table.readings:
        first = f": {told(table.bad[0])}" if table.bad else ""
        raise InputError(f"there is no good row{first}", file=path.name)
    tick.say("writing to the ledger")
    number = readings.add(book, table.readings, person, f"{note or path.name}; {mark}")
    document = {
        "schema": "sagger-readings-loaded/1",
        "entry": number,
        "readings": len(table.readings),
        "bad": [
            {field: getattr(row, field) for field in ("line", "column", "name", "what")} for row in table.bad
        ],
    }
    lines = [f"entry {number}: {len(table.readings)} readings from {path.name}"]
    lines += [f"  not taken: {told(row)}" for row in table.bad[:FEW]]
    if len(table.bad) > FEW:
        lines.append(f"  and {len(table.bad) - FEW} more bad rows; --json lists them all")
    return Taken(document=document, lines=lines, refused=bool(table.bad))


def enter(said: dict[str, str], person: str) -> tuple[dict[str, Any], list[str]]:
    """One row by hand, its cells by column name.

    Raises
    ------
    InputError
        With the column and what is wrong with it.
    """
    book = ledger()
    try:
        found = tables_of_readings.of_row(said, readings.instruments(book))
    except cell.Bad as fault:
        raise InputError(fault.what, field=fault.name, value=said.get(fault.name, "")) from None
    number = readings.add(book, found, person, "by hand")
    lines = [f"entry {number}:", *(f"  {view.line(reading)}" for reading in found)]
    return {"schema": "sagger-readings-loaded/1", "entry": number, "readings": len(found), "bad": []}, lines


def listed(**asked: str) -> tuple[dict[str, Any], list[str]]:
    """Readings in force that fit (kind, state, box, piece, powder; "" = all), as a document and as lines."""
    found = readings.listed(ledger(), **asked)
    document = {"schema": "sagger-readings/1", "readings": [as_row(reading) for reading in found]}
    return document, [view.line(reading) for reading in found] or [
        "no readings yet; `sagger readings load` takes a table"
    ]


def instrument(name: str, kind: str, doubts: dict[str, str], calibrated: str, person: str) -> str:
    """Enter an instrument; `doubts` are u, u_shared and u_shared_relative as text with units."""
    sort = {"length": "length", "mass": "mass", "density": "density", "hardness": "", "temperature": ""}
    if kind not in sort:
        raise InputError(
            "no readings of this kind", field="kind", value=kind, remedy=f"Kinds: {', '.join(sort)}."
        )

    def amount(text: str) -> float:
        return units.read(text, sort[kind]) if sort[kind] else cell.finite(text.partition(" ")[0], "u")

    entry = Instrument(
        name=name,
        kind=kind,
        u=amount(doubts["u"]),
        u_shared=amount(doubts["u_shared"]) if doubts["u_shared"] else 0.0,
        u_shared_relative=units.read(doubts["u_shared_relative"] or "0 -", "pure"),
        calibrated=calibrated,
    )
    number = readings.enter_instrument(ledger(), entry, person)
    return f"entry {number}: readings with {name} have these uncertainties from now on"


def instruments() -> tuple[dict[str, Any], list[str]]:
    """Every instrument as it was last entered."""
    found = readings.instruments(ledger()).values()
    document = {"schema": "sagger-instruments/1", "instruments": [dataclasses.asdict(each) for each in found]}
    lines = []
    for each in found:
        unit, digits = view.SHOWN.get(each.kind, ("", 4))
        alone, shared = (f"{units.into(u, unit) if unit else u:.{digits}f}" for u in (each.u, each.u_shared))
        text = f"{each.name}  {each.kind}  u {alone} {unit} alone, {shared} {unit} shared"
        text += f" and {each.u_shared_relative:.2%} of the reading" if each.u_shared_relative else ""
        lines.append(text + (f"  calibrated {each.calibrated}" if each.calibrated else ""))
    return document, lines or ["no instruments yet; `sagger readings instrument` enters one"]


def told(row: BadRow) -> str:
    """A bad row in words."""
    where = f"line {row.line}" + (f", column {row.column} ({row.name})" if row.column else "")
    return f"{where}{'' if row.column or not row.name else f', {row.name}'}: {row.what}"


def as_row(reading: Reading) -> dict[str, Any]:
    """A reading as plain values, SI."""
    return dataclasses.asdict(reading)


def _refuse_twice(book: Ledger, mark: str, name: str) -> None:
    with book.reading() as connection:
        query = sa.select(tables.entry.c.id).where(
            tables.entry.c.what == "readings", tables.entry.c.note.endswith(mark)
        )
        earlier = connection.execute(query).scalar()
    if earlier is not None:
        remedy = "Counted twice, they would seem twice as sure. Load only what is new."
        raise InputError(f"this table was loaded before, as entry {earlier}", file=name, remedy=remedy)
