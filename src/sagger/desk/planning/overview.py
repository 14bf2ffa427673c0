"""All orders at a glance, for a list that is looked at again and again."""

from __future__ import annotations

import functools

from sagger.desk.home import ledger
from sagger.desk.measuring import approvals
from sagger.goods.good import Key
from sagger.ledger import jobs, plans, versions
from sagger.views.words import overview
from sagger.views.words.overview import OrderLine, Outcome


def orders() -> tuple[OrderLine, ...]:
    """The newest job of each order, and beside it the newest that was approved; newest first."""
    book = ledger()
    granted = approvals.approvals()
    rows = overview.of_interest(jobs.listed(book), versions.threads(book), granted)
    where = str(book.folder)
    return tuple(
        overview.line(row, _outcome(row.plan_digest, where) if row.plan_digest else None, granted.get(row.id))
        for row in rows
    )


@functools.lru_cache(maxsize=20_000)
def _outcome(digest: Key[str], home: str) -> Outcome:
    # Kept by digest, so it cannot have changed; the folder tells one ledger from another.
    return overview.outcome(plans.plan(ledger(), digest))
