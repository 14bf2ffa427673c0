"""What a person approves: oversize factors, and the plan of a job."""

from __future__ import annotations

import dataclasses
from typing import NamedTuple

from sagger.desk.home import ledger
from sagger.desk.measuring import conditions
from sagger.desk.measuring.conditions import NOTHING, StatedConditions
from sagger.errors import InputError
from sagger.goods.factors import Factors
from sagger.goods.good import good, plain
from sagger.goods.plain import Plain
from sagger.goods.record import FactorsApproval, PlanApproval
from sagger.ledger import approved, jobs
from sagger.stations import shrink
from sagger.views.words import factors as view

LOOK_AT = 2  # weight of a finding that is told; a heavier one is refused


class FactorsLine(NamedTuple):
    """An approval of factors as a list shows it."""

    id: int
    material: str
    lot: str
    k_x: float
    k_y: float
    k_z: float
    u_x: float
    u_y: float
    u_z: float
    person: str
    reason: str
    approved: str
    replaces: int | None
    holds: bool
    withdrawn: str
    conditions: Plain


@good
class FactorsList:
    """Every approval of factors, newest first."""

    schema: str = "sagger-factors/1"
    factors: tuple[FactorsLine, ...]


def newest_first() -> list[FactorsApproval]:
    """Every approval of factors."""
    return approved.listed(ledger())


def factors() -> tuple[FactorsList, list[str]]:
    """Every approval, newest first, as a document and as lines."""
    rows = newest_first()
    held = view.holding(rows)
    listed = (
        FactorsLine(
            row.id, row.material, row.lot, *row.k, *row.u, row.person, row.reason, row.approved, row.replaces,
            holds, row.withdrawn, plain(row.conditions),
        )
        for row, holds in zip(rows, held, strict=True)
    )  # fmt: skip
    lines = [line for row, holds in zip(rows, held, strict=True) for line in view.lines(row, holds)]
    return FactorsList(factors=tuple(listed)), lines or [
        "no approved factors yet; until then factors come from the powder card"
    ]


def withdraw(number: int, person: str, reason: str) -> str:
    """Withdraw an approval of factors; says what holds from now on.

    Raises
    ------
    InputError
        If person or reason is missing; LedgerError if it approved no factors or was withdrawn already.
    """
    book = ledger()
    entry = approved.withdraw(book, number, person.strip(), reason.strip())
    row = next((row for row in approved.listed(book) if row.id == number), None)
    if row is None:
        return f"entry {entry}: what entry {number} brought holds no longer"
    after = approved.newest(book, row.material, row.lot)
    whose = view.whose(row)
    if after is not None:
        return f"entry {entry}: entry {number} is withdrawn; jobs in {whose} use {after.origin} again"
    until = "those of the powder" if row.lot else "those of the powder card"
    return f"entry {entry}: entry {number} is withdrawn; jobs in {whose} use {until} from now on"


def approve(
    factors: Factors, person: str, reason: str, words: StatedConditions = NOTHING, *, again: bool = False
) -> str:
    """Approve factors for a powder, or a lot of it; says which entry it became, and under what they hold.

    The same once more is taken for a command given again, unless `again` says that it is none.

    Raises
    ------
    CardError
        If there is no such powder, or another card of the conditions is refused.
    InputError
        If a factor or its uncertainty makes no sense, the balance of mass does not hold, or person or reason
        is missing.
    """
    approved.check(factors)
    known = conditions.stated(factors.material, words)
    if known is not None and not known.lot:
        known = dataclasses.replace(known, lot=factors.lot)
    entry = dataclasses.replace(factors, conditions=known)
    lines = weighed(entry)
    number = approved.approve(ledger(), entry, person, reason, once=not again)
    whose = f"{entry.material}, lot {entry.lot}" if entry.lot else entry.material
    lines.insert(0, f"entry {number}: from now on jobs in {whose} use these factors")
    return "\n".join([*lines, *(f"  {line}" for line in (view.under(known) if known else ()))])


def weighed(factors: Factors) -> list[str]:
    """What the balance of mass says of factors, if it is worth a word.

    Raises
    ------
    InputError
        If no body can be so, or doubts do not explain the difference.
    """
    if factors.conditions is None:
        return []
    balance = shrink.balance(factors)
    if balance.weight > LOOK_AT:
        k = [float(value) for value in factors.k]
        raise InputError(balance.text.rstrip("."), field="k", value=k, remedy=balance.remedy)
    return [f"  look: {balance.text}"] if balance.level != "ok" else []


def approve_plan(job: int, person: str, note: str = "") -> None:
    """Write down that a person approved the plan of a job for printing.

    Raises
    ------
    InputError
        If the job has no plan that could be made, or nobody's name is given.
    """
    book = ledger()
    row = jobs.one(book, job)
    if row.state != "done" or row.plan_digest is None:
        raise InputError("only a plan that came to its end can be approved", field="job", value=job)
    if not person.strip():
        raise InputError("an approval needs a person", field="person")
    approved.approve_plan(book, job, row.plan_digest, person.strip(), note.strip())


def approvals() -> dict[int, PlanApproval]:
    """The newest approval of each job that has one, by job number."""
    return approved.of_plans(ledger())
