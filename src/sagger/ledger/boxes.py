"""Boxes that were printed, the pieces in them, and the furnace runs they went through."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Mapping, Sequence

import sqlalchemy as sa

from sagger.errors import InputError
from sagger.goods.booked import BookedBox, BookedPiece, FurnaceRun, Place, PlannedFactors, PrintedFrom
from sagger.goods.good import good, plain
from sagger.goods.traced import PieceInBox
from sagger.ledger import entries, tables
from sagger.ledger.store import Found, Ledger, Row

PIECE = ("box", "label", "part", "number", "coupon", "x_mm", "y_mm", "z_mm")


@good
class KnownPiece:
    """What the book knows of one piece, under the names that `Reading` has for it; empty = unknown."""

    powder: str = ""
    lot: str = ""
    part: str = ""
    coupon: bool = False
    at_mm: Place | None = None
    load: str = ""
    furnace: str = ""
    tray: str = ""
    place: str = ""
    fired_mm: Place | None = None


@good
class BookedPieces:
    """What the book knows of pieces, by box and label."""

    boxes: Mapping[str, KnownPiece]  # with powder and lot
    pieces: Mapping[tuple[str, str], KnownPiece]  # with part, coupon and place in the box
    fired: Mapping[tuple[str, str], KnownPiece]  # with furnace and place there

    def of(self, box: str, piece: str) -> KnownPiece:
        """What is known of one piece."""
        booked = self.pieces.get((box, piece), NOTHING)
        fired = self.fired.get((box, piece), NOTHING)
        charged = self.boxes.get(box, NOTHING)
        return KnownPiece(
            powder=charged.powder,
            lot=charged.lot,
            part=booked.part,
            coupon=booked.coupon,
            at_mm=booked.at_mm,
            load=fired.load,
            furnace=fired.furnace,
            tray=fired.tray,
            place=fired.place,
            fired_mm=fired.fired_mm,
        )


NOTHING = KnownPiece()


def book(ledger: Ledger, box: BookedBox, person: str, note: str = "", corrects: int | None = None) -> int:
    """Number of the entry that says a box was printed, with its pieces; it may replace an earlier one.

    Raises
    ------
    InputError
        If a box of that name is booked already, or two pieces share a label.
    """
    labels = [piece.label for piece in box.pieces]
    if len(set(labels)) < len(labels):
        twice = next(label for label in labels if labels.count(label) > 1)
        raise InputError("two pieces of a box have the same label", field="label", value=twice)
    head: Row = {"name": box.name, "powder": box.powder, "job": box.job, "number": box.number}
    head["facts"] = json.dumps(known_facts(box.facts))
    with ledger.writing() as connection:
        _refuse_known(connection, tables.build, "box", box.name, corrects)
        pieces = [_piece_row(box.name, piece) for piece in box.pieces]
        return entries.add(connection, "box", person, {"build": [head], "piece": pieces}, note, corrects)


def fire(ledger: Ledger, run: FurnaceRun, person: str, note: str = "", corrects: int | None = None) -> int:
    """Number of the entry that says which pieces went through a furnace run, and where they stood; it may
    replace an earlier one.

    Raises
    ------
    InputError
        If a run of that name is booked already, or a piece is none of a booked box.
    """
    head = {"name": run.name, "furnace": run.furnace, "programme": run.programme}
    with ledger.writing() as connection:
        _refuse_known(connection, tables.load, "furnace run", run.name, corrects)
        boxes = sorted({piece.box for piece in run.pieces})
        there = {(piece.box, piece.label) for piece in pieces_of(connection, boxes)}
        for piece in run.pieces:
            if (piece.box, piece.piece) not in there:
                what = f"box {piece.box!r} holds no such piece"
                raise InputError(what, field="piece", value=piece.piece, remedy="Book the box first.")
        rows = [
            {"load": run.name, **_columns(piece, "box", "piece", "tray", "place"), **_axes(piece.at_mm)}
            for piece in run.pieces
        ]
        return entries.add(connection, "furnace run", person, {"load": [head], "fired": rows}, note, corrects)


def jobs_of(ledger: Ledger) -> dict[str, int]:
    """Job that each booked box was planned by, for those that were."""
    with ledger.reading() as connection:
        rows = _in_force(connection, tables.build, tables.build.c.name, "")
        return {row.name: row.job for row in rows if row.job is not None}


def labels(ledger: Ledger) -> dict[str, frozenset[str]]:
    """Labels of the pieces in each box that is booked with its pieces."""
    by_box: dict[str, set[str]] = {}
    with ledger.reading() as connection:
        for row in _in_force(connection, tables.piece, tables.piece.c.box, ""):
            by_box.setdefault(row.box, set()).add(row.label)
    return {box: frozenset(of_box) for box, of_box in by_box.items()}


def known(connection: sa.Connection, box: str = "") -> BookedPieces:
    """What the book knows of the pieces of one box, or of all."""
    lots = _lots(connection, box)
    builds = _in_force(connection, tables.build, tables.build.c.name, box)
    pieces = _in_force(connection, tables.piece, tables.piece.c.box, box)
    fired = _in_force(connection, tables.fired, tables.fired.c.box, box)
    furnaces = {row.name: row.furnace for row in _in_force(connection, tables.load, tables.load.c.name, "")}
    return BookedPieces(
        boxes={row.name: KnownPiece(powder=row.powder, lot=lots.get(row.name, "")) for row in builds},
        pieces={
            (row.box, row.label): KnownPiece(part=row.part, coupon=row.coupon, at_mm=_at(row))
            for row in pieces
        },
        fired={
            (row.box, row.piece): KnownPiece(
                load=row.load,
                furnace=furnaces.get(row.load, ""),
                tray=row.tray,
                place=row.place,
                fired_mm=_at(row),
            )
            for row in fired
        },
    )


def of_job(ledger: Ledger, job: int) -> list[str]:
    """Names of the boxes that are booked as printed by the plan of a job, in the order of their booking."""
    with ledger.reading() as connection:
        return [
            row.name for row in _in_force(connection, tables.build, tables.build.c.name, "") if row.job == job
        ]


def printed(ledger: Ledger, names: Sequence[str]) -> int:
    """How many pieces these boxes hold, coupons left out."""
    with ledger.reading() as connection:
        return sum(not piece.coupon for piece in pieces_of(connection, names))


def known_facts(facts: PrintedFrom) -> Row:
    """What a box was printed from, as the book holds it: what is not known is left out."""
    row = {field.name: plain(getattr(facts, field.name)) for field in dataclasses.fields(facts)}
    return {name: value for name, value in row.items() if value}


def facts(text: str) -> PrintedFrom:
    """The same, read back."""
    row = json.loads(text or "{}")
    factors = row.get("factors")
    return PrintedFrom(
        order=row.get("order", ""),
        edition=row.get("edition", ""),
        cards=row.get("cards"),
        factors=factors and PlannedFactors(*(factors.get(key, "") for key in PlannedFactors._fields)),
        planned_lot=row.get("planned_lot", ""),
        k=row.get("k") and tuple(row["k"]),
        less_mm=row.get("less_mm") and tuple(row["less_mm"]),
    )


def plan_of(connection: sa.Connection, name: str) -> tuple[int, int] | None:
    """Job and number by which a booked box was planned; None if it is not booked, or from no job."""
    row = next(iter(_in_force(connection, tables.build, tables.build.c.name, name)), None)
    return None if row is None or row.job is None else (row.job, row.number)


def pieces_of(connection: sa.Connection, names: Sequence[str]) -> list[PieceInBox]:
    """Pieces of these boxes, with the furnace run of each."""
    columns = [tables.piece.c[name] for name in PIECE]
    query = sa.select(*columns).where(tables.piece.c.box.in_(names)).order_by(tables.piece.c.id)
    fires = sa.select(tables.fired.c.box, tables.fired.c.piece, tables.fired.c.load)
    fires = fires.where(tables.fired.c.box.in_(names), tables.fired.c.entry.not_in(entries.superseded()))
    query = query.where(tables.piece.c.entry.not_in(entries.superseded()))
    loads = {(box, piece): load for box, piece, load in connection.execute(fires).all()}
    return [
        PieceInBox._make((*row, loads.get((row[0], row[1]), ""))) for row in connection.execute(query).all()
    ]


def _refuse_known(
    connection: sa.Connection, table: sa.Table, kind: str, name: str, corrects: int | None
) -> None:
    if not name.strip():
        raise InputError(f"a {kind} needs a name", field="name")
    if any(row.entry != corrects for row in _in_force(connection, table, table.c.name, name)):
        raise InputError(f"there is a {kind} of that name", field="name", value=name)


def _piece_row(box: str, piece: BookedPiece) -> Row:
    return {"box": box, **_columns(piece, "label", "part", "number", "coupon"), **_axes(piece.at_mm)}


def _columns(value: object, *names: str) -> Row:
    return {name: getattr(value, name) for name in names}


def _axes(at_mm: Place | None) -> Row:
    return dict(zip(("x_mm", "y_mm", "z_mm"), at_mm or (None,) * 3, strict=True))


def _in_force(
    connection: sa.Connection, table: sa.Table, column: sa.ColumnElement[str], asked: str
) -> Sequence[Found]:
    query = sa.select(table).where(table.c.entry.not_in(entries.superseded())).order_by(table.c.id)
    return connection.execute(query.where(column == asked) if asked else query).all()


def _lots(connection: sa.Connection, box: str) -> dict[str, str]:
    """Names of the lots that each box was charged with, joined by " + "."""
    into, out = tables.posting.alias(), tables.posting.alias()
    query = (
        sa.select(into.c.name.label("box"), out.c.name.label("lot"))
        .join(out, out.c.entry == into.c.entry)
        .join(tables.entry, tables.entry.c.id == into.c.entry)
        .where(tables.entry.c.what == "charge", into.c.place == "box", out.c.place == "lot")
        .where(into.c.entry.not_in(entries.superseded()))
        .order_by(out.c.id)
    )
    charged: dict[str, list[str]] = {}
    for row in connection.execute(query.where(into.c.name == box) if box else query):
        charged.setdefault(row.box, []).append(row.lot)
    return {box: " + ".join(dict.fromkeys(lots)) for box, lots in charged.items()}


def _at(row: Found) -> Place | None:
    return None if row.x_mm is None else (row.x_mm, row.y_mm, row.z_mm)
