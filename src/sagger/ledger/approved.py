"""What persons approved: one kind of sealed entry for factors, proposals and plans. Nothing is edited.

A new approval of factors replaces the one before; a withdrawn one leaves the one before in force again.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime

import numpy as np
import sqlalchemy as sa

from sagger.errors import InputError, LedgerError
from sagger.goods.factors import Factors
from sagger.goods.good import Key
from sagger.goods.record import FactorsApproval, PlanApproval
from sagger.ledger import entries, measured_under, tables
from sagger.ledger.store import Ledger, Row

MOST = 2.0  # an oversize factor beyond this is a slip of the pen


def approve(ledger: Ledger, factors: Factors, person: str, reason: str, *, once: bool = False) -> int:
    """Number of the entry by which factors are in force; `once` refuses what was just approved so.

    Raises
    ------
    InputError
        If a factor lies outside 0.5 to 2, an uncertainty is negative, or person or reason is missing.
    """
    with ledger.writing() as connection:
        rows = of_factors(connection, factors)
        if once and rows["factors"][0]["replaces"] is not None:
            head: Row = {"subject": "factors", "reason": reason, "made": ""}
            entries.refuse_twin(connection, "approval", person, {"approval": [head], **rows})
        return enter(connection, "factors", person, reason, rows=rows)


def approve_plan(ledger: Ledger, job: int, plan_digest: str, person: str, note: str) -> int:
    """Number of the entry that says who approved the plan of a job."""
    with ledger.writing() as connection:
        subject = {"job": job, "plan_digest": plan_digest}
        return enter(connection, "plan", person, note, rows={}, of=subject)


def enter(
    connection: sa.Connection,
    subject: str,
    person: str,
    reason: str,
    *,
    rows: Mapping[str, list[Row]],
    of: Mapping[str, object] | None = None,
) -> int:
    """Number of the entry of an approval with all that it puts in force. Needs the write lock.

    Parameters
    ----------
    subject : str
        "factors", "proposal" or "plan".
    rows : mapping of str to list of dict
        By table, what the approval puts in force.
    of : mapping, optional
        Which proposal, or which job and plan.

    Raises
    ------
    InputError
        If person or reason is missing; a plan needs no reason.
    """
    if not person.strip() or not (reason.strip() or subject == "plan"):
        raise InputError("an approval needs a person and a reason", field="person, reason")
    head: Row = {"subject": subject, "reason": reason, "made": _now(), **(of or {})}
    add = entries.add_once if subject == "plan" else entries.add
    return add(connection, "approval", person, {"approval": [head], **rows})


def check(factors: Factors) -> None:
    """`InputError` if a factor lies outside 0.5 to 2 or an uncertainty is negative."""
    if not all(1 / MOST < k < MOST for k in factors.k):
        what = "an oversize factor is green length over finished length and lies between 0.5 and 2"
        raise InputError(what, field="k", value=[float(k) for k in factors.k], remedy="Check the readings.")
    if not all(u >= 0 for u in factors.u):
        raise InputError("an uncertainty cannot be negative", field="u", value=[float(u) for u in factors.u])


def of_factors(connection: sa.Connection, factors: Factors) -> dict[str, list[Row]]:
    """Rows of an approval that puts factors in force, by table.

    Raises
    ------
    InputError
        If a factor lies outside 0.5 to 2 or an uncertainty is negative.
    """
    check(factors)
    earlier = _newest(_listed(connection), factors.material, factors.lot)
    row: Row = {
        "material": factors.material,
        "lot": factors.lot,
        **{f"k_{axis}": float(k) for axis, k in zip("xyz", factors.k, strict=True)},
        **{f"u_{axis}": float(u) for axis, u in zip("xyz", factors.u, strict=True)},
        "replaces": earlier.id if earlier else None,
    }
    known = factors.conditions
    return {"factors": [row], "conditions": [measured_under.row(known)] if known else []}


def newest(ledger: Ledger, material: str, lot: str = "") -> Factors | None:
    """The approved factors in force for a material and lot, or None."""
    row = _newest(listed(ledger), material, lot)
    if row is None:
        return None
    return Factors(
        k=np.array(row.k),
        u=np.array(row.u),
        material=material,
        lot=lot,
        origin=f"approved factors, ledger entry {row.id}",
        conditions=row.conditions,
    )


def listed(ledger: Ledger) -> list[FactorsApproval]:
    """Every approval of factors, newest first."""
    with ledger.reading() as connection:
        return _listed(connection)


def of_plans(ledger: Ledger) -> dict[int, PlanApproval]:
    """The newest approval of each job that has one, by job number."""
    table = tables.approval.c
    query = (
        sa.select(table.entry, table.job, table.plan_digest, table.reason, table.made, tables.entry.c.person)
        .join(tables.entry, tables.entry.c.id == table.entry)
        .where(table.subject == "plan", table.entry.not_in(withdrawn()))
        .order_by(table.entry)
    )
    with ledger.reading() as connection:
        return {
            row.job: PlanApproval(
                id=row.entry,
                job=row.job,
                plan_digest=Key(row.plan_digest),
                person=row.person,
                note=row.reason,
                made=row.made,
            )
            for row in connection.execute(query)
        }


def withdraw(ledger: Ledger, number: int, person: str, reason: str) -> int:
    """Number of the entry by which an approval is withdrawn, with factors, scatter and map that it brought.

    Raises
    ------
    InputError
        If person or reason is missing.
    LedgerError
        If the entry approved no factors, or was withdrawn already.
    """
    if not person.strip() or not reason.strip():
        raise InputError("a withdrawal needs a person and a reason", field="person, reason")
    table = tables.approval.c
    query = sa.select(table.id).where(table.entry == number, table.subject != "plan")
    with ledger.writing() as connection:
        if connection.execute(query).scalar() is None:
            raise LedgerError(f"entry {number} approved no factors; `sagger factors` lists those that did")
        if number in connection.execute(withdrawn()).scalars().all():
            raise LedgerError(f"entry {number} was withdrawn already")
        row: Row = {"approval": number, "reason": reason}
        return entries.add(connection, "withdrawal", person, {"withdrawal": [row]})


def withdrawn() -> sa.Select[int]:
    """Selects the numbers of approvals that were withdrawn."""
    return sa.select(tables.withdrawal.c.approval)


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")


def _newest(approvals: list[FactorsApproval], material: str, lot: str) -> FactorsApproval | None:
    held = (row for row in approvals if row.material == material and row.lot == lot and not row.withdrawn)
    return next(held, None)


def _listed(connection: sa.Connection) -> list[FactorsApproval]:
    table = tables.factors
    query = (
        sa.select(table, tables.approval.c.reason, tables.approval.c.made, tables.entry.c.person)
        .join(tables.approval, tables.approval.c.entry == table.c.entry)
        .join(tables.entry, tables.entry.c.id == table.c.entry)
        .order_by(table.c.entry.desc())
    )
    taken_back = _taken_back(connection)
    under = measured_under.by_entry(connection)
    return [
        FactorsApproval(
            id=row.entry,
            material=row.material,
            lot=row.lot,
            k=(row.k_x, row.k_y, row.k_z),
            u=(row.u_x, row.u_y, row.u_z),
            person=row.person,
            reason=row.reason,
            approved=row.made,
            replaces=row.replaces,
            conditions=under.get(row.entry),
            withdrawn=taken_back.get(row.entry, ""),
        )
        for row in connection.execute(query)
    ]


def _taken_back(connection: sa.Connection) -> dict[int, str]:
    """Why each withdrawn approval was, and by whom."""
    table = tables.withdrawal.c
    query = sa.select(table.approval, table.reason, tables.entry.c.person, tables.entry.c.at)
    rows = connection.execute(query.join(tables.entry, tables.entry.c.id == table.entry)).all()
    return {row.approval: f"{row.person}, {row.at}: {row.reason}" for row in rows}
