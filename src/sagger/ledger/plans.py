"""Plans that the ledger keeps, read again."""

from __future__ import annotations

import json

from sagger.errors import LedgerError
from sagger.goods.good import Key
from sagger.goods.plain import restored
from sagger.goods.planned import Plan, RefusedPlan, WholePlan
from sagger.ledger import bodies
from sagger.ledger.store import Ledger


def plan(ledger: Ledger, key: Key[str]) -> Plan:
    """A plan kept under `key`.

    Raises
    ------
    LedgerError
        If nothing is kept there, or it was made by an edition that said less.
    """
    document = json.loads(bodies.get(ledger, key))
    try:
        whole = document["state"] == "planned"
        return restored(WholePlan, document) if whole else restored(RefusedPlan, document)
    except (KeyError, ValueError) as error:
        what = f"this plan was made by another edition of the program ({error})"
        raise LedgerError(f"{what}; plan the job again to see it") from None
