"""Oversize factors that a person approved. Nothing is edited: a new approval replaces the one before."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import numpy as np
import sqlalchemy as sa

from sagger.errors import InputError
from sagger.goods.factors import Factors
from sagger.ledger import tables
from sagger.ledger.store import Ledger

MOST = 2.0  # an oversize factor beyond this is a slip of the pen


def approve(ledger: Ledger, factors: Factors, person: str, reason: str) -> int:
    """Number of the new entry.

    Raises
    ------
    InputError
        If a factor lies outside 0.5 to 2, an uncertainty is negative, or person or reason is missing.
    """
    if not all(1 / MOST < k < MOST for k in factors.k):
        what = "an oversize factor is green length over finished length and lies between 0.5 and 2"
        raise InputError(what, field="k", value=[float(k) for k in factors.k], remedy="Check the readings.")
    if not all(u >= 0 for u in factors.u):
        raise InputError("an uncertainty cannot be negative", field="u", value=[float(u) for u in factors.u])
    if not person.strip() or not reason.strip():
        raise InputError("an approval needs a person and a reason", field="person, reason")
    earlier = _newest(ledger, factors.material, factors.lot)
    row = {
        "material": factors.material,
        "lot": factors.lot,
        **{f"k_{axis}": float(k) for axis, k in zip("xyz", factors.k, strict=True)},
        **{f"u_{axis}": float(u) for axis, u in zip("xyz", factors.u, strict=True)},
        "person": person,
        "reason": reason,
        "approved": datetime.now(UTC).isoformat(timespec="seconds"),
        "replaces": earlier["id"] if earlier else None,
    }
    with ledger.writing() as connection:
        return int(connection.execute(sa.insert(tables.factors).values(row)).inserted_primary_key[0])  # type: ignore[index]


def newest(ledger: Ledger, material: str, lot: str = "") -> Factors | None:
    """The approved factors in force for a material and lot, or None."""
    row = _newest(ledger, material, lot)
    if row is None:
        return None
    return Factors(
        k=np.array([row[f"k_{axis}"] for axis in "xyz"]),
        u=np.array([row[f"u_{axis}"] for axis in "xyz"]),
        material=material,
        lot=lot,
        origin=f"approved factors, ledger entry {row['id']}",
    )


def listed(ledger: Ledger) -> list[dict[str, Any]]:
    """Every approval, newest first."""
    with ledger.reading() as connection:
        query = sa.select(tables.factors).order_by(tables.factors.c.id.desc())
        return [dict(row) for row in connection.execute(query).mappings()]


def _newest(ledger: Ledger, material: str, lot: str) -> dict[str, Any] | None:
    rows = (row for row in listed(ledger) if row["material"] == material and row["lot"] == lot)
    return next(rows, None)
