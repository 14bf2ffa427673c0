"""Booking what was done: a box that was printed from a plan, a furnace run that went."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from sagger.desk.home import ledger
from sagger.desk.so_far import so_far
from sagger.errors import InputError, LedgerError
from sagger.files import cells, measured
from sagger.goods.booked import (
    BookedBox,
    BookedPiece,
    FiredPiece,
    FurnaceRun,
    Place,
    PrintedFrom,
)
from sagger.goods.layout import Layout, Piece
from sagger.goods.planned import WholePlan
from sagger.ledger import Ledger, bodies, boxes, jobs, plans
from sagger.ledger.lots import Mover

DRAWN = "(drawn)"  # ends the file name of a coupon


def box(name: str, job: int, number: int, step: Mover) -> list[str]:
    """Book a box that was printed from the plan of a job; says its pieces.

    Raises
    ------
    LedgerError
        If there is no such job.
    InputError
        If the job has no plan or no such box, or a box of that name is booked.
    """
    book = ledger()
    plan, layout = plan_of_job(book, job), _layout(book, job, number)
    pieces = tuple(_piece(layout, piece) for piece in layout.pieces)
    booked = BookedBox(
        name=name,
        powder=plan.factors.material,
        pieces=pieces,
        job=job,
        number=number,
        facts=PrintedFrom(
            order=plan.order.name,
            edition=plan.edition,
            cards={card.kind: card.name for card in plan.cards},
            factors=plan.factors,
            planned_lot=plan.factors.lot,
        ),
    )
    entry = boxes.book(book, booked, step.person, step.note, step.corrects)
    lines = [f"entry {entry}: box {name}, {len(pieces)} pieces of {plan.order.name}"]
    return lines + [f"  {piece.label}" for piece in pieces]


def run(name: str, furnace: str, table: Path, programme: str, step: Mover) -> str:
    """Book a furnace run from a table of the pieces in it: box, piece, and tray, place, x_mm, y_mm, z_mm.

    Raises
    ------
    InputError
        If the table is refused or names a piece that is not booked.
    """
    columns = measured.table(table, ("box", "piece"))
    count = len(columns["line"])
    rows = [{key: column[at] for key, column in columns.items()} for at in range(count)]
    pieces = tuple(_fired(row, table.name) for row in rows)
    entry = FurnaceRun(name=name, furnace=furnace, pieces=pieces, programme=programme)
    number = boxes.fire(ledger(), entry, step.person, step.note, step.corrects)
    return f"entry {number}: {len(pieces)} pieces in furnace run {name}"


def placed(book: Ledger, name: str, label: str) -> tuple[Layout, Piece]:
    """Where a piece of a booked box lies, and the box; InputError if it was not booked from a job's plan."""
    layout = laid_out(book, name)
    piece = labelled(layout).get(label)
    if piece is None:
        remedy = "`sagger trace box` lists the pieces of a box."
        raise InputError(f"box {name!r} holds no such piece", field="piece", value=label, remedy=remedy)
    return layout, piece


def laid_out(book: Ledger, name: str) -> Layout:
    """A booked box as it was planned; InputError if it was not booked from a job's plan."""
    with book.reading() as connection:
        planned = boxes.plan_of(connection, name)
    if planned is None:
        what = f"box {name!r} is not booked from a job"
        raise InputError(what, field="box", value=name, remedy="`sagger book box` does that.")
    return _layout(book, *planned)


def labelled(layout: Layout) -> dict[str, Piece]:
    """The pieces of a box by the labels that readings know them by."""
    return {_piece(layout, piece).label: piece for piece in layout.pieces}


def plan_of_job(book: Ledger, job: int) -> WholePlan:
    """The plan of a job; `InputError` if it came to none."""
    plan_digest = jobs.one(book, job).plan_digest
    if plan_digest is None:
        what = f"job {job} came to no plan"
        raise InputError(what, field="job", value=job, remedy="`sagger jobs` lists the jobs.")
    plan = plans.plan(book, plan_digest)
    if not isinstance(plan, WholePlan):
        raise InputError(f"job {job} was refused, so nothing was printed from it", field="job", value=job)
    return plan


def _layout(book: Ledger, job: int, number: int) -> Layout:
    keys = so_far(book, job).layouts
    for key in keys:
        layout = bodies.get(book, key)
        if layout.number == number:
            return layout
    if not keys:
        raise LedgerError(f"the ledger does not hold where the pieces of job {job} lie; plan it again")
    raise InputError(f"job {job} has {len(keys)} boxes", field="number", value=number)


def _piece(layout: Layout, piece: Piece) -> BookedPiece:
    green = layout.greens[piece.part]
    request = green.part.request
    coupon = bool(request.held) and request.file.endswith(DRAWN)
    corners = green.shape.vertices @ piece.placement[:3, :3].T + piece.placement[:3, 3]
    middle = (corners.min(axis=0) + corners.max(axis=0)) / 2
    return BookedPiece(
        label=request.name if coupon else f"{request.name} {piece.number}",
        part=request.name,
        number=piece.number,
        coupon=coupon,
        at_mm=_rounded(middle),
    )


def _rounded(place: np.ndarray) -> Place:
    x, y, z = (round(float(each), 4) for each in place)
    return x, y, z


def _fired(row: dict[str, str], file: str) -> FiredPiece:
    try:
        given = [row.get(name) for name in ("x_mm", "y_mm", "z_mm")]
        at = tuple(cells.number(row, name) for name in ("x_mm", "y_mm", "z_mm")) if any(given) else None
    except cells.Bad as fault:
        where = f"line {row['line']}, column {fault.name}"
        raise InputError(fault.what, file=file, field=where) from None
    return FiredPiece(
        box=row["box"],
        piece=row["piece"],
        tray=row.get("tray", ""),
        place=row.get("place", ""),
        at_mm=at,  # type: ignore[arg-type]
    )
