"""Genealogy: from a piece back to all that it came from, and from a lot forward to all that it went into."""

from __future__ import annotations

from collections.abc import Iterable

import sqlalchemy as sa

from sagger.errors import InputError
from sagger.goods.traced import (
    Ancestry,
    EntryHead,
    Offspring,
    PieceInBox,
    PowderStep,
    TracedBox,
    TracedPiece,
    TracedReading,
    TracedRun,
    TracedWork,
)
from sagger.ledger import boxes, entries, readings, tables, works
from sagger.ledger.store import Found, Ledger


def back(ledger: Ledger, box: str, piece: str) -> Ancestry:
    """Everything behind one piece.

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
        runs = _runs(connection, box, piece)
        powder = _powder(connection, _reach(connection, "box", box, forward=False))
        taken = [TracedReading(*pair) for pair in readings.of_piece(connection, box, piece)]
        rests = {one[0].entry, built.entry, *(run.entry for run in runs)}
        rests |= {step.entry for step in powder} | {reading.entry for reading in taken}
        heads = _heads(connection, rests)
    facts = boxes.facts(built.facts)
    used = works.of_job(ledger, built.job) if built.job else []
    return Ancestry(
        piece=TracedPiece._make(one[0]),
        box=TracedBox(built.id, built.entry, built.name, built.job, built.number, built.powder, facts),
        powder=tuple(powder),
        furnace=tuple(runs),
        readings=tuple(taken),
        works=tuple(TracedWork(use.work.verb, use.work.edition, use.output) for use in used),
        entries=heads,
    )


def forward(ledger: Ledger, lot: str) -> Offspring:
    """Everything that powder of a lot went into: lots, boxes and all their pieces.

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
    return Offspring(
        lot=lot,
        lots=tuple(name for place, name in reached if place == "lot" and name != lot),
        boxes=tuple(into),
        pieces=tuple(pieces),
    )


def contents(ledger: Ledger, box: str) -> list[PieceInBox]:
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


def _powder(connection: sa.Connection, reached: list[tuple[str, str]]) -> list[PowderStep]:
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
    steps: dict[tuple[str, str, int], PowderStep] = {}
    for row in connection.execute(query).all():
        new = PowderStep(row.place, row.name, row.what, row.entry, row.mg / 1e6, {})
        step = steps.setdefault((row.place, row.name, row.entry), new)
        if row.source:
            step.sources[row.source] = -row.taken / 1e6
    asked = set(reached)  # a box and a lot may share a name
    return [step for key, step in steps.items() if key[:2] in asked]


def _stood(connection: sa.Connection, box: str, piece: str) -> list[Found]:
    return _rows(connection, tables.fired, tables.fired.c.box == box, tables.fired.c.piece == piece)


def _runs(connection: sa.Connection, box: str, piece: str) -> list[TracedRun]:
    """The furnace runs of a piece."""
    return [
        TracedRun(
            place.id, place.entry, run.name, run.furnace, run.programme, place.load, place.box,
            place.piece, place.tray, place.place, place.x_mm, place.y_mm, place.z_mm,
        )
        for place in _stood(connection, box, piece)
        for run in _rows(connection, tables.load, tables.load.c.name == place.load)
    ]  # fmt: skip


def _heads(connection: sa.Connection, numbers: Iterable[int]) -> dict[int, EntryHead]:
    columns = (tables.entry.c[name] for name in EntryHead._fields)
    query = sa.select(*columns).where(tables.entry.c.id.in_(list(numbers))).order_by(tables.entry.c.id)
    return {row[0]: EntryHead._make(row) for row in connection.execute(query).all()}


def _rows(connection: sa.Connection, table: sa.Table, *conditions: sa.ColumnElement[bool]) -> list[Found]:
    query = (
        sa.select(table).where(*conditions, table.c.entry.not_in(entries.superseded())).order_by(table.c.id)
    )
    return list(connection.execute(query).all())
