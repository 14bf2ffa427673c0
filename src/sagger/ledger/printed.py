"""At which oversize each piece of a booked box was printed."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import sqlalchemy as sa
from numpy import ndarray

from sagger.goods.good import Key
from sagger.goods.planned import PlanPiece, PlanTreatment, WholePlan
from sagger.ledger import boxes, entries, plans, tables
from sagger.ledger.store import Ledger


class PrintedLengths(NamedTuple):
    """What an order's length became in the drop images along machine x, y, z: nominal x k - less."""

    k: ndarray  # float64 (3,)
    less_mm: ndarray  # float64 (3,): bleed at both ends along x and y, soaking depth below


Printed = dict[tuple[str, str], PrintedLengths]


def drawn(ledger: Ledger) -> Printed:
    """How large each piece was drawn, by box and piece.

    A box that was booked with its job says it piece by piece, as planned. One booked with `k` among its facts
    (and `less_mm`, if outlines were drawn inside) says it once, under piece "".
    """
    build, piece = tables.build, tables.piece
    with ledger.reading() as connection:
        builds = connection.execute(sa.select(build).where(build.c.entry.not_in(entries.superseded()))).all()
        rows = connection.execute(sa.select(piece).where(piece.c.entry.not_in(entries.superseded()))).all()
        plans = {row.job: _plan(ledger, connection, row.job) for row in builds if row.job is not None}
    lengths: Printed = {}
    for row in builds:
        facts = boxes.facts(row.facts)
        if facts.k is not None:
            less = facts.less_mm or (0.0, 0.0, 0.0)
            lengths[row.name, ""] = PrintedLengths(np.array(facts.k), np.array(less))
        planned = plans.get(row.job) or {}
        for one in rows:
            size = planned.get((row.number, one.part, one.number))
            if one.box == row.name and size is not None:
                lengths[row.name, one.label] = size
    return lengths


def _plan(ledger: Ledger, connection: sa.Connection, job: int) -> dict[tuple[int, str, int], PrintedLengths]:
    """By box number, name of the part, and copy."""
    query = sa.select(tables.job.c.plan_digest).where(tables.job.c.id == job)
    kept = connection.execute(query).scalar()
    plan = plans.plan(ledger, Key[str](kept)) if kept else None
    if not isinstance(plan, WholePlan):
        return {}
    treated = {box.number: box.layers.treatments for box in plan.boxes}
    return {
        (piece.box, piece.name, piece.number): _drawn(piece, treated[piece.box][piece.part])
        for piece in plan.pieces
    }


def _drawn(piece: PlanPiece, treatment: PlanTreatment) -> PrintedLengths:
    bleed, depth = treatment.bleed_um / 1e3, treatment.depth_um / 1e3
    size = np.linalg.norm(np.array(piece.placement)[:3, :3], axis=1)
    return PrintedLengths(size, np.array([2 * bleed, 2 * bleed, depth]))
