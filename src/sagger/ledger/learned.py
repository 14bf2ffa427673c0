"""Proposals learnt from readings, and what a person approved of them."""

from __future__ import annotations

import sqlalchemy as sa

from sagger.errors import InputError, LedgerError
from sagger.goods.good import Key
from sagger.goods.learned import Approved, BedMap, FactorProposal, Scatter
from sagger.ledger import approved, bodies, entries, tables
from sagger.ledger.store import Ledger, Row


def propose(ledger: Ledger, proposal: FactorProposal, person: str) -> int:
    """Number of the entry that keeps a proposal; nothing is in force by it."""
    row: Row = {
        "kind": "proposal",
        "material": proposal.material,
        "box": proposal.box,
        "body": bodies.put(ledger, proposal),
    }
    with ledger.writing() as connection:
        return entries.add_once(connection, "proposal", person, {"learned": [row]})


def proposal(ledger: Ledger, number: int) -> FactorProposal:
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
    return bodies.get(ledger, Key[FactorProposal](body))


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
    proposed = proposal(ledger, number)
    blocked = [axis.axis for axis in proposed.axes if axis.verdict == "blocked"]
    if blocked:
        raise InputError(
            f"what was found along {', '.join(blocked)} contradicts what is in force",
            field="proposal",
            value=number,
            remedy="Find out why (lot, furnace, slip of the pen); if it is right, "
            "`sagger factors approve` takes factors by hand.",
        )
    rows: list[Row] = []
    if not proposed.lot:  # one lot knows nothing of others
        rows.append(_row(ledger, "scatter", proposed, proposed.scatter))
    if proposed.bed is not None:
        rows.append(_row(ledger, "map", proposed, proposed.bed))
    changes = any(axis.verdict != "keep" for axis in proposed.axes)
    with ledger.writing() as connection:
        if number in _decided(connection):
            raise InputError("this proposal was approved already", field="proposal", value=number)
        put = {"learned": rows}
        put |= approved.of_factors(connection, proposed.factors) if changes else {}
        return approved.enter(connection, "proposal", person, reason, rows=put, of={"proposal": number})


def waiting(ledger: Ledger) -> list[int]:
    """Entries of the proposals that nobody approved yet, newest first."""
    table = tables.learned
    query = sa.select(table.c.entry).where(table.c.kind == "proposal").order_by(table.c.id.desc())
    with ledger.reading() as connection:
        numbers = [int(number) for number in connection.execute(query).scalars()]
        decided = _decided(connection)
    return [number for number in numbers if number not in decided]


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


def _row(ledger: Ledger, kind: str, of: FactorProposal, value: BedMap | Scatter) -> Row:
    return {"kind": kind, "material": of.material, "box": of.box, "body": bodies.put(ledger, value)}


def _newest(ledger: Ledger, kind: str, material: str, box: str) -> object:
    table = tables.learned
    query = sa.select(table.c.body).where(table.c.kind == kind, table.c.material == material)
    query = query.where(table.c.entry.not_in(approved.withdrawn()))
    query = query.where(table.c.box == box) if box else query
    with ledger.reading() as connection:
        body = connection.execute(query.order_by(table.c.id.desc()).limit(1)).scalar()
    return None if body is None else bodies.get(ledger, Key[object](body))


def _decided(connection: sa.Connection) -> set[int]:
    """Entries of the proposals that are approved; an edition before said so in the note alone."""
    table, entry = tables.approval.c, tables.entry.c
    query = sa.select(table.proposal).where(
        table.proposal.is_not(None), table.entry.not_in(approved.withdrawn())
    )
    notes = sa.select(entry.note).where(entry.what == "approval", entry.note.startswith("proposal "))
    by_note = {int(note.rpartition(" ")[2]) for note in connection.execute(notes).scalars()}
    return by_note | {int(number) for number in connection.execute(query).scalars() if number is not None}
