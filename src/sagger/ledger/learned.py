"""Proposals learnt from readings, and what a person approved of them."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

from sagger.errors import InputError, LedgerError
from sagger.goods.learned import Approved, BedMap, Proposal, Scatter
from sagger.ledger import approved, bodies, entries, tables
from sagger.ledger.store import Ledger


def propose(ledger: Ledger, proposal: Proposal, person: str) -> int:
    """Number of the entry that keeps a proposal; nothing is in force by it."""
    row = {
        "kind": "proposal",
        "material": proposal.material,
        "box": proposal.box,
        "body": bodies.put(ledger, proposal),
    }
    with ledger.writing() as connection:
        return entries.add(connection, "proposal", person, {"learned": [row]})


def proposal(ledger: Ledger, number: int) -> Proposal:
    """The proposal of an entry.

    Raises
    ------
    LedgerError
        If the entry is none.
    """
    table = tables.learned
    query = sa.select(table.c.body).where(table.c.entry == number, table.c.kind == "proposal")
    with ledger.reading() as connection:
        body = connection.execute(query).scalar()
    if body is None:
        raise LedgerError(f"entry {number} is no proposal; `sagger learn` makes one")
    found: Proposal = bodies.get(ledger, body)
    return found


def approve(ledger: Ledger, number: int, person: str, reason: str) -> int:
    """Number of the entry by which a proposal's factors, map and scatter are in force.

    Where no factor is to change, only map and scatter are renewed.

    Raises
    ------
    InputError
        If an axis of it was blocked, it was approved already, or person or reason is missing.
    LedgerError
        If the entry is no proposal.
    """
    found = proposal(ledger, number)
    blocked = [axis.axis for axis in found.axes if axis.verdict == "blocked"]
    if blocked:
        raise InputError(
            f"what was found along {', '.join(blocked)} contradicts what is in force",
            field="proposal",
            value=number,
            remedy="Find out why (lot, furnace, slip of the pen); if it is right, "
            "`sagger factors approve` takes factors by hand.",
        )
    note = f"proposal {number}"
    if any(row["note"] == note for row in _rows(ledger, "approval")):
        raise InputError("this proposal was approved already", field="proposal", value=number)
    if any(axis.verdict != "keep" for axis in found.axes):
        approved.approve(ledger, found.factors, person, f"{reason} ({note})")
    rows = [] if found.lot else [_row(ledger, "scatter", found, found.scatter)]  # a lot knows no other
    if found.bed is not None:
        rows.append(_row(ledger, "map", found, found.bed))
    with ledger.writing() as connection:
        return entries.add(connection, "approval", person, {"learned": rows}, note)


def waiting(ledger: Ledger) -> list[int]:
    """Entries of the proposals that nobody approved yet, newest first."""
    table = tables.learned
    query = sa.select(table.c.entry).where(table.c.kind == "proposal").order_by(table.c.id.desc())
    with ledger.reading() as connection:
        numbers = [int(number) for number in connection.execute(query).scalars()]
    approved_ones = {row["note"] for row in _rows(ledger, "approval")}
    return [number for number in numbers if f"proposal {number}" not in approved_ones]


def in_force(ledger: Ledger, material: str, box: str, lot: str = "") -> Approved:
    """Factors, map of the bed and scatter that hold for a powder card and a box card.

    Factors of the lot go before those of the powder.
    """
    own = approved.newest(ledger, material, lot) if lot else None
    bed = _newest(ledger, "map", material, box)
    scatter = _newest(ledger, "scatter", material, "")
    return Approved(
        factors=own or approved.newest(ledger, material),
        bed=bed if isinstance(bed, BedMap) else None,
        scatter=scatter if isinstance(scatter, Scatter) else None,
    )


def _row(ledger: Ledger, kind: str, of: Proposal, value: BedMap | Scatter) -> dict[str, Any]:
    return {"kind": kind, "material": of.material, "box": of.box, "body": bodies.put(ledger, value)}


def _newest(ledger: Ledger, kind: str, material: str, box: str) -> object:
    table = tables.learned
    query = sa.select(table.c.body).where(table.c.kind == kind, table.c.material == material)
    query = query.where(table.c.box == box) if box else query
    with ledger.reading() as connection:
        body = connection.execute(query.order_by(table.c.id.desc()).limit(1)).scalar()
    return None if body is None else bodies.get(ledger, body)


def _rows(ledger: Ledger, what: str) -> list[Any]:
    query = sa.select(tables.entry.c.note).where(tables.entry.c.what == what)
    with ledger.reading() as connection:
        return [dict(row) for row in connection.execute(query).mappings()]
