"""Genealogy for a person, and for other programs: lines, a document, rows of a table."""

from __future__ import annotations

from sagger import texts
from sagger.desk.home import ledger
from sagger.goods.good import good, plain
from sagger.goods.traced import Ancestry, PieceInBox
from sagger.ledger import boxes, trace
from sagger.views.words import trace as view


@good
class Genealogy:
    """What a person asked to be traced."""

    document: object  # for --json
    lines: list[str]
    table: str  # CSV


@good
class BoxContents:
    """The pieces of a box."""

    schema: str = "sagger-trace-box/1"
    box: str
    pieces: tuple[PieceInBox, ...]


def piece(box: str, label: str) -> Genealogy:
    """From a piece back to lot, card, factor, furnace place, reading, edition and person."""
    behind = trace.back(ledger(), box, label)
    rows = (row._asdict() for row in view.back_rows(behind))
    return Genealogy(
        document=_back(behind), lines=view.back_lines(behind), table=texts.table(view.Behind._fields, rows)
    )


def lot(name: str) -> Genealogy:
    """From a lot forward to every piece that holds some of it."""
    after = trace.forward(ledger(), name)
    return Genealogy(
        document={"schema": "sagger-trace-lot/1"} | _fields(after),
        lines=view.forward_lines(after),
        table=texts.table(PieceInBox._fields, (each._asdict() for each in after.pieces)),
    )


def box(name: str) -> Genealogy:
    """The pieces of a box."""
    pieces = tuple(trace.contents(ledger(), name))
    return Genealogy(
        document=BoxContents(box=name, pieces=pieces),
        lines=[view.piece_line(each) for each in pieces],
        table=texts.table(PieceInBox._fields, (each._asdict() for each in pieces)),
    )


def _back(behind: Ancestry) -> dict[str, object]:
    """Readings with the numbers of their entries among their fields, a box with the facts it has."""
    readings = [_fields(taken.reading) | {"entry": taken.entry} for taken in behind.readings]
    facts = {"facts": boxes.known_facts(behind.box.facts)}
    return (
        {"schema": "sagger-trace-piece/1"}
        | _fields(behind)
        | {
            "box": behind.box._asdict() | facts,
            "readings": readings,
        }
    )


def _fields(value: object) -> dict[str, object]:
    fields = plain(value)
    assert isinstance(fields, dict)  # of goods
    return {**fields}
