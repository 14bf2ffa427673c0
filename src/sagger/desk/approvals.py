"""What a person approves: oversize factors, and the plan of a job."""

from __future__ import annotations

from typing import Any

import numpy as np

from sagger import cards
from sagger.desk.home import card_folders, ledger
from sagger.errors import InputError
from sagger.goods.factors import Factors
from sagger.ledger import approved, jobs, versions


def factors() -> tuple[dict[str, Any], list[str]]:
    """Every approval, newest first, as a document and as lines."""
    rows = approved.listed(ledger())
    lines = []
    for row in rows:
        k = "  ".join(f"{axis} {row[f'k_{axis}']:.5f} ± {row[f'u_{axis}']:.5f}" for axis in "xyz")
        lines.append(
            f"{row['id']:>4}  {row['material']}  {k}  {row['person']}, {row['approved']}: {row['reason']}"
        )
    document = {"schema": "sagger-factors/1", "factors": rows}
    return document, lines or ["no approved factors yet; until then factors come from the powder card"]


def approve(
    material: str, k: tuple[float, float, float], u: tuple[float, float, float], person: str, reason: str
) -> str:
    """Approve factors for a powder; says which entry it became.

    Raises
    ------
    CardError
        If there is no such powder.
    InputError
        If a factor or its uncertainty makes no sense, or person or reason is missing.
    """
    powder = cards.load("powder", material, card_folders())
    entry = Factors(k=np.array(k), u=np.array(u), material=powder.name, origin="approved")
    number = approved.approve(ledger(), entry, person, reason)
    return f"entry {number}: from now on jobs in {powder.name} use these factors"


def approve_plan(job: int, person: str, note: str = "") -> None:
    """Write down that a person approved the plan of a job for printing.

    Raises
    ------
    InputError
        If the job has no plan that could be made, or nobody's name is given.
    """
    book = ledger()
    row = jobs.one(book, job)
    if row["state"] != "done":
        raise InputError("only a plan that came to its end can be approved", field="job", value=job)
    if not person.strip():
        raise InputError("an approval needs a person", field="person")
    versions.approve(book, job, row["plan_digest"], person.strip(), note.strip())


def approvals() -> dict[int, dict[str, Any]]:
    """The newest approval of each job that has one, by job number."""
    return versions.approvals(ledger())
