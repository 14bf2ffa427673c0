"""Readings and instruments: entering, loading tables, looking."""

from __future__ import annotations

from pathlib import Path

from sagger import units
from sagger.desk.home import ledger
from sagger.desk.measuring import drawings
from sagger.errors import InputError
from sagger.files import cells as cell
from sagger.files import readings as tables_of_readings
from sagger.goods.good import good
from sagger.goods.reading import BadRow, Instrument, Reading
from sagger.ledger import Ledger, boxes, readings
from sagger.tick import Tick, silent
from sagger.views.words import readings as view

FEW = 20  # bad rows told on a terminal; all stand in the document


# What an instrument reads, and the quantity that its uncertainty is typed in; "" = a number as it stands.
QUANTITIES = {
    "length": "length",
    "mass": "mass",
    "density": "density",
    "force": "force",
    "hardness": "",
    "temperature": "",
}


@good
class LoadedDocument:
    """What became of a table of readings."""

    schema: str = "sagger-readings-loaded/1"
    entry: int  # of the book
    readings: int
    bad: tuple[BadRow, ...]


@good
class ReadingList:
    """Readings in force, SI."""

    schema: str = "sagger-readings/1"
    readings: tuple[Reading, ...]


@good
class InstrumentList:
    """Every instrument as it was last entered, SI."""

    schema: str = "sagger-instruments/1"
    instruments: tuple[Instrument, ...]


@good
class Taken:
    document: LoadedDocument
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
    known = (readings.instruments(book), boxes.labels(book), drawings.lines_of(book))
    table = tables_of_readings.read(path, *known, tick=tick)
    mark = f"file {table.digest}"
    refuse_twice(book, mark, path.name)
    if not table.readings:
        first = f": {_bad_row(table.bad[0])}" if table.bad else ""
        raise InputError(f"there is no good row{first}", file=path.name)
    tick.say("writing to the ledger")
    number = readings.add(book, table.readings, person, f"{note or path.name}; {mark}")
    document = LoadedDocument(entry=number, readings=len(table.readings), bad=table.bad)
    lines = [f"entry {number}: {len(table.readings)} readings from {path.name}"]
    lines += [f"  not taken: {_bad_row(row)}" for row in table.bad[:FEW]]
    if len(table.bad) > FEW:
        lines.append(f"  and {len(table.bad) - FEW} more bad rows; --json lists them all")
    return Taken(document=document, lines=lines, refused=bool(table.bad))


def enter(cells: dict[str, str], person: str, *, again: bool = False) -> tuple[LoadedDocument, list[str]]:
    """One row by hand, its cells by column name; `again` if it says just what the one before said.

    Raises
    ------
    InputError
        With the column and what is wrong with it.
    """
    book = ledger()
    try:
        known = (readings.instruments(book), boxes.labels(book), drawings.lines_of(book))
        entered = tables_of_readings.of_row(cells, *known)
    except cell.Bad as fault:
        raise InputError(fault.what, field=fault.name, value=cells.get(fault.name, "")) from None
    number = readings.add(book, entered, person, "by hand", once=not again)
    lines = [f"entry {number}:", *(f"  {view.line(reading)}" for reading in entered)]
    return LoadedDocument(entry=number, readings=len(entered), bad=()), lines


def void(numbers: tuple[int, ...], person: str, reason: str) -> str:
    """Let readings count no longer; says which entry it became.

    Raises
    ------
    InputError
        If there is no reason; LedgerError if a reading is none or counts no longer.
    """
    number = readings.void(ledger(), numbers, person, reason)
    listed_numbers = ", ".join(map(str, numbers))
    return f"entry {number}: of no account from now on, though kept: reading {listed_numbers}"


def listed(**asked: str) -> tuple[ReadingList, list[str]]:
    """Readings in force that fit (kind, state, box, piece, powder; "" = all), as a document and as lines."""
    found = readings.listed(ledger(), **asked)
    return ReadingList(readings=found), [view.line(reading) for reading in found] or [
        "no readings yet; `sagger readings load` takes a table"
    ]


def instrument(name: str, kind: str, doubts: dict[str, str], calibrated: str, person: str) -> str:
    """Enter an instrument; `doubts` are u, u_shared and u_shared_relative as text with units."""
    if kind not in QUANTITIES:
        remedy = f"Kinds: {', '.join(QUANTITIES)}."
        raise InputError("no readings of this kind", field="kind", value=kind, remedy=remedy)
    quantity = QUANTITIES[kind]

    def amount(text: str) -> float:
        return units.read(text, quantity) if quantity else cell.finite(text.partition(" ")[0], "u")

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


def instruments() -> tuple[InstrumentList, list[str]]:
    """Every instrument as it was last entered."""
    known = readings.instruments(ledger()).values()
    document = InstrumentList(instruments=tuple(known))
    lines = []
    for instrument in known:
        unit, digits = view.SHOWN.get(instrument.kind, ("", 4))
        alone, shared = (
            f"{units.into(u, unit) if unit else u:.{digits}f}" for u in (instrument.u, instrument.u_shared)
        )
        text = f"{instrument.name}  {instrument.kind}  u {alone} {unit} alone, {shared} {unit} shared"
        text += (
            f" and {instrument.u_shared_relative:.2%} of the reading" if instrument.u_shared_relative else ""
        )
        lines.append(text + (f"  calibrated {instrument.calibrated}" if instrument.calibrated else ""))
    return document, lines or ["no instruments yet; `sagger readings instrument` enters one"]


def _bad_row(row: BadRow) -> str:
    """A bad row in words."""
    where = f"line {row.line}" + (f", column {row.column} ({row.name})" if row.column else "")
    return f"{where}{'' if row.column or not row.name else f', {row.name}'}: {row.what}"


def refuse_twice(book: Ledger, mark: str, name: str) -> None:
    """Refuse a table or scan whose readings are booked, and count, already."""
    earlier = readings.loaded(book, mark)
    if earlier is not None:
        remedy = "Counted twice, they would seem twice as sure. Load only what is new."
        raise InputError(f"this file was loaded before, as entry {earlier}", file=name, remedy=remedy)
