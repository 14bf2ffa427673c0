"""Approved oversize factors: looking and approving."""

from __future__ import annotations

from typing import Any

import numpy as np

from sagger import cards
from sagger.desk.home import card_folders, ledger
from sagger.goods.factors import Factors
from sagger.ledger import approved


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
