"""Genealogy: from a piece back to all that it came from, and from a lot forward to all that it went into."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Iterable
from typing import Any

import sqlalchemy as sa

from sagger.errors import InputError
from sagger.ledger import boxes, entries, readings, tables, works
from sagger.ledger.store import Ledger

Facts = dict[str, Any]
HEAD = ("id", "what", "person", "at", "note", "corrects", "digest")


def back(ledger: Ledger, box: str, piece: str) -> Facts:
    """Everything behind one piece, as plain values.

    Returns
    -------
    dict
        piece, box, powder (from the charge back to the lots that were received), furnace, readings, works of
        the plan, and by number every entry of the book that one of them rests on.

    Raises
    ------
    InputError
        If no such piece is booked.
    """
    with ledger.reading() as connection:
        one = _rows(connection, tables.piece, tables.piece.c.box == box, tables.piece.c.label == piece)
        if not one:
            remedy = "`sagger trace box` lists the pieces of a box."
            raise InputError(f"box {box!r} holds no such piece", field="piece", value=piece, remedy=remedy)
        built = _rows(connection, tables.build, tables.build.c.name == box)[0]
        fired = _rows(connection, tables.fired, tables.fired.c.box == box, tables.fired.c.piece == piece)
        loads = [
            each
            for row in fired
            for each in _rows(connection, tables.load, tables.load.c.name == row["load"])
        ]
        powder = _powder(connection, _reach(connection, "box", box, forward=False))
        found = readings.of_piece(connection, box, piece)
        rests = {row["entry"] for row in (one[0], built, *fired, *loads, *powder)} | {at for at, _ in found}
        heads = _heads(connection, rests)
    return {
        "piece": one[0],
        "box": {**built, "facts": json.loads(built["facts"])},
        "powder": powder,
        "furnace": [{**run, **place} for run, place in zip(loads, fired, strict=True)],
        "readings": [dataclasses.asdict(reading) | {"entry": entry} for entry, reading in found],
        "works": [_work(row) for row in works.of_job(ledger, built["job"])] if built["job"] else [],
        "entries": heads,
    }


def forward(ledger: Ledger, lot: str) -> Facts:
    """Everything that powder of a lot went into, as plain values: lots, boxes and all their pieces.

    Raises
    ------
    InputError
        If no lot of that name is in the book.
    """
    with ledger.reading() as connection:
        if not connection.execute(
            sa.select(tables.lot.c.id).where(tables.lot.c.name == lot).limit(1)
        ).first():
            remedy = "`sagger lots --empty` lists them all."
            raise InputError("no lot of the ledger has this name", field="lot", value=lot, remedy=remedy)
        reached = _reach(connection, "lot", lot, forward=True)
        into = [name for place, name in reached if place == "box"]
        pieces = boxes.pieces_of(connection, into)
    return {
        "lot": lot,
        "lots": [name for place, name in reached if place == "lot" and name != lot],
        "boxes": into,
        "pieces": pieces,
    }


def contents(ledger: Ledger, box: str) -> list[Facts]:
    """The pieces of a box; `InputError` if it is not booked."""
    with ledger.reading() as connection:
        if not _rows(connection, tables.build, tables.build.c.name == box):
            remedy = "`sagger book box` books one."
            raise InputError("no box of this name is booked", field="box", value=box, remedy=remedy)
        return boxes.pieces_of(connection, [box])


def _reach(connection: sa.Connection, place: str, name: str, *, forward: bool) -> list[tuple[str, str]]:
    """Lots and boxes that powder came from or went into, nearest first, the start itself among them."""
    took, gave = tables.posting.alias("took"), tables.posting.alias("gave")
    near, far = (took, gave) if forward else (gave, took)
    text = sa.Text  # both terms of the recursion must be of one type
    start = sa.select(
        sa.cast(sa.literal(place), text).label("place"), sa.cast(sa.literal(name), text).label("name")
    )
    reach = start.cte("reach", recursive=True)
    step = (
        sa.select(sa.cast(far.c.place, text), sa.cast(far.c.name, text))
        .select_from(reach)
        .join(near, (near.c.name == reach.c.name) & (near.c.place == reach.c.place))
        .join(far, far.c.entry == near.c.entry)
        .where(gave.c.mg > 0, took.c.mg < 0, far.c.place.in_(("lot", "box")))
        .where(near.c.entry.not_in(entries.superseded()))
    )
    found = connection.execute(sa.select(reach.union(step))).all()
    return [(where, name) for where, name in found]


def _powder(connection: sa.Connection, reached: list[tuple[str, str]]) -> list[Facts]:
    """How each of these lots and boxes came by its powder: movement, sources with masses, entry."""
    gave, took = tables.posting.alias("gave"), tables.posting.alias("took")
    names = {name for _, name in reached}
    query = (
        sa.select(gave.c.place, gave.c.name, gave.c.entry, tables.entry.c.what, gave.c.mg)
        .add_columns(took.c.name.label("source"), took.c.mg.label("taken"))
        .join(took, took.c.entry == gave.c.entry)
        .join(tables.entry, tables.entry.c.id == gave.c.entry)
        .where(gave.c.name.in_(names), gave.c.place.in_(("lot", "box")), gave.c.mg > 0, took.c.mg < 0)
        .where(took.c.place != "lost", gave.c.entry.not_in(entries.superseded()))
        .order_by(gave.c.entry.desc(), took.c.id)
    )
    found: dict[tuple[str, str, int], Facts] = {}
    for row in connection.execute(query).all():
        step = {
            "place": row.place,
            "name": row.name,
            "what": row.what,
            "entry": row.entry,
            "kg": row.mg / 1e6,
        }
        kept = found.setdefault((row.place, row.name, row.entry), step | {"sources": {}})
        if row.source:
            kept["sources"][row.source] = -row.taken / 1e6
    asked = set(reached)  # a box and a lot may share a name
    return [step for key, step in found.items() if key[:2] in asked]


def _heads(connection: sa.Connection, numbers: Iterable[int]) -> dict[int, Facts]:
    query = sa.select(*(tables.entry.c[name] for name in HEAD)).where(tables.entry.c.id.in_(list(numbers)))
    rows = connection.execute(query.order_by(tables.entry.c.id)).all()
    return {row[0]: dict(zip(HEAD, row, strict=True)) for row in rows}


def _rows(connection: sa.Connection, table: sa.Table, *conditions: Any) -> list[Facts]:
    query = (
        sa.select(table).where(*conditions, table.c.entry.not_in(entries.superseded())).order_by(table.c.id)
    )
    return [dict(row) for row in connection.execute(query).mappings()]


def _work(row: Facts) -> Facts:
    return {"verb": row["verb"], "edition": row["edition"], "output": row["output"]}
