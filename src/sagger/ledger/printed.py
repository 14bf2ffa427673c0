"""At which oversize each piece of a booked box was printed."""

from __future__ import annotations

import json
from typing import Any, NamedTuple

import numpy as np
import sqlalchemy as sa
from numpy import ndarray

from sagger.ledger import bodies, entries, tables
from sagger.ledger.store import Ledger


class Drawn(NamedTuple):
    """What an order's length became in the drop images along machine x, y, z: nominal x k - less."""

    k: ndarray  # float64 (3,)
    less_mm: ndarray  # float64 (3,): bleed at both ends along x and y, soaking depth below


Printed = dict[tuple[str, str], Drawn]


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
    found: Printed = {}
    for row in builds:
        facts = json.loads(row.facts or "{}")
        if facts.get("k") is not None:
            less = facts.get("less_mm", (0.0, 0.0, 0.0))
            found[row.name, ""] = Drawn(np.array(facts["k"], dtype=float), np.array(less, dtype=float))
        planned = plans.get(row.job) or {}
        for one in rows:
            size = planned.get((row.number, one.part, one.number))
            if one.box == row.name and size is not None:
                found[row.name, one.label] = size
    return found


def _plan(ledger: Ledger, connection: sa.Connection, job: int) -> dict[tuple[int, str, int], Drawn]:
    """By box number, name of the part, and copy."""
    query = sa.select(tables.job.c.plan_digest).where(tables.job.c.id == job)
    kept = connection.execute(query).scalar()
    if not kept:
        return {}
    plan: dict[str, Any] = json.loads(bodies.get(ledger, kept))
    treated = {box["number"]: box["layers"]["treatments"] for box in plan.get("boxes", [])}
    return {
        (each["box"], each["name"], each["number"]): _drawn(each, treated[each["box"]][each["part"]])
        for each in plan.get("pieces", [])
    }


def _drawn(piece: dict[str, Any], treatment: dict[str, Any]) -> Drawn:
    bleed, depth = treatment["bleed_um"] / 1e3, treatment["depth_um"] / 1e3
    size = np.linalg.norm(np.array(piece["placement"])[:3, :3], axis=1)
    return Drawn(size, np.array([2 * bleed, 2 * bleed, depth]))
