"""Boxes that were printed, the pieces in them, and the furnace runs they went through."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

import sqlalchemy as sa

from sagger.errors import InputError
from sagger.goods.booked import BookedBox, BookedPiece, FurnaceRun, Place
from sagger.goods.good import good
from sagger.ledger import entries, tables
from sagger.ledger.store import Ledger

Facts = dict[str, Any]
PIECE = ("box", "label", "part", "number", "coupon", "x_mm", "y_mm", "z_mm")


@good
class Known:
    """What the book knows of pieces, by box and label."""

    boxes: dict[str, Facts]  # powder, lot
    pieces: dict[tuple[str, str], Facts]  # part, coupon, at_mm
    fired: dict[tuple[str, str], Facts]  # load, furnace, tray, place, fired_mm

    def of(self, box: str, piece: str) -> Facts:
        """What is known of one piece, under the names that `Reading` has for it."""
        return {
            **self.boxes.get(box, {}),
            **self.pieces.get((box, piece), {}),
            **self.fired.get((box, piece), {}),
        }


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
    head = {"name": box.name, "powder": box.powder, "job": box.job, "number": box.number}
    head["facts"] = json.dumps(box.facts)
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
        there = {(piece["box"], piece["label"]) for piece in pieces_of(connection, boxes)}
        for piece in run.pieces:
            if (piece.box, piece.piece) not in there:
                what = f"box {piece.box!r} holds no such piece"
                raise InputError(what, field="piece", value=piece.piece, remedy="Book the box first.")
        rows = [
            {"load": run.name, **_facts(piece, "box", "piece", "tray", "place"), **_axes(piece.at_mm)}
            for piece in run.pieces
        ]
        return entries.add(connection, "furnace run", person, {"load": [head], "fired": rows}, note, corrects)


def known(connection: sa.Connection, box: str = "") -> Known:
    """What the book knows of the pieces of one box, or of all."""
    lots = _lots(connection, box)
    builds = _in_force(connection, tables.build, tables.build.c.name, box)
    pieces = _in_force(connection, tables.piece, tables.piece.c.box, box)
    fired = _in_force(connection, tables.fired, tables.fired.c.box, box)
    furnaces = {row.name: row.furnace for row in _in_force(connection, tables.load, tables.load.c.name, "")}
    return Known(
        boxes={row.name: {"powder": row.powder, "lot": lots.get(row.name, "")} for row in builds},
        pieces={
            (row.box, row.label): {"part": row.part, "coupon": row.coupon, "at_mm": _at(row)}
            for row in pieces
        },
        fired={
            (row.box, row.piece): {
                "load": row.load,
                "furnace": furnaces.get(row.load, ""),
                "tray": row.tray,
                "place": row.place,
                "fired_mm": _at(row),
            }
            for row in fired
        },
    )


def built(connection: sa.Connection, name: str) -> Any:
    """The row of a booked box, or None."""
    return next(iter(_in_force(connection, tables.build, tables.build.c.name, name)), None)


def pieces_of(connection: sa.Connection, names: Sequence[str]) -> list[Facts]:
    """Pieces of these boxes as plain values, with the furnace run of each, "" if it was in none."""
    columns = [tables.piece.c[name] for name in PIECE]
    query = sa.select(*columns).where(tables.piece.c.box.in_(names)).order_by(tables.piece.c.id)
    fires = sa.select(tables.fired.c.box, tables.fired.c.piece, tables.fired.c.load)
    fires = fires.where(tables.fired.c.box.in_(names), tables.fired.c.entry.not_in(entries.superseded()))
    query = query.where(tables.piece.c.entry.not_in(entries.superseded()))
    loads = {(box, piece): load for box, piece, load in connection.execute(fires).all()}
    keys = (*PIECE, "load")
    return [
        dict(zip(keys, (*row, loads.get((row[0], row[1]), "")), strict=True))
        for row in connection.execute(query).all()
    ]


def _refuse_known(
    connection: sa.Connection, table: sa.Table, what: str, name: str, corrects: int | None
) -> None:
    if not name.strip():
        raise InputError(f"a {what} needs a name", field="name")
    if any(row.entry != corrects for row in _in_force(connection, table, table.c.name, name)):
        raise InputError(f"there is a {what} of that name", field="name", value=name)


def _piece_row(box: str, piece: BookedPiece) -> Facts:
    return {"box": box, **_facts(piece, "label", "part", "number", "coupon"), **_axes(piece.at_mm)}


def _facts(value: object, *names: str) -> Facts:
    return {name: getattr(value, name) for name in names}


def _axes(at_mm: Place | None) -> Facts:
    return dict(zip(("x_mm", "y_mm", "z_mm"), at_mm or (None,) * 3, strict=True))


def _in_force(connection: sa.Connection, table: sa.Table, column: Any, asked: str) -> Sequence[Any]:
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
    found: dict[str, list[str]] = {}
    for row in connection.execute(query.where(into.c.name == box) if box else query):
        found.setdefault(row.box, []).append(row.lot)
    return {box: " + ".join(dict.fromkeys(lots)) for box, lots in found.items()}


def _at(row: Any) -> tuple[float, float, float] | None:
    return None if row.x_mm is None else (row.x_mm, row.y_mm, row.z_mm)
