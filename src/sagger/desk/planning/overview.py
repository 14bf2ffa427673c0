"""All orders at a glance, for a list that is looked at again and again.

What a plan came to is worked out once and kept as a work of the ledger: a plan of one order is some hundred
kilobytes, and a shop has a thousand.
"""

from __future__ import annotations

import dataclasses
import json
import time
from collections.abc import Hashable, Iterable
from typing import NamedTuple

from sagger.desk.home import ledger
from sagger.desk.measuring import approvals
from sagger.errors import LedgerError
from sagger.goods.good import Key, digest, plain
from sagger.goods.plain import restored
from sagger.goods.planned import Plan
from sagger.goods.record import JobRecord
from sagger.ledger import Ledger, entries, jobs, plans, versions, works
from sagger.views.words import overview
from sagger.views.words.overview import OrderLine, Outcome

EDITION = "1"  # of what a list tells of a plan
VERB = "sagger.desk.overview"

_known: dict[
    tuple[str, str], Outcome | None
] = {}  # by folder of the ledger and digest of a plan: never another


class _Lines(NamedTuple):
    """The list as it was last put together, and what it holds for."""

    state: Hashable
    lines: tuple[OrderLine, ...]


_last: dict[str, _Lines] = {}  # by folder of the ledger


def mark() -> Hashable:
    """Something that differs as soon as the list of orders does; quick to ask for."""
    book = ledger()
    return _state(book, ()), tuple(dataclasses.astuple(row) for row in jobs.opened(book))


def orders() -> tuple[OrderLine, ...]:
    """The newest job of each order, and beside it the newest that was approved; newest first.

    While nothing ends, begins or is approved only the jobs under way are looked at.
    """
    book = ledger()
    under_way = {row.id: row for row in jobs.opened(book)}
    state, where = _state(book, under_way.values()), str(book.folder)
    if where not in _last or _last[where].state != state:
        _last[where] = _Lines(state, _lines(book, where))
    return tuple(
        overview.line(under_way[line.job], line.outcome, None) if line.job in under_way else line
        for line in _last[where].lines
    )


def _state(book: Ledger, under_way: Iterable[JobRecord]) -> Hashable:
    return jobs.counts(book), entries.newest(book), tuple((row.id, row.state) for row in under_way)


def _lines(book: Ledger, where: str) -> tuple[OrderLine, ...]:
    granted = approvals.approvals()
    rows = tuple(overview.of_interest(jobs.listed(book), versions.threads(book), granted))
    if any(row.plan_digest and (where, row.plan_digest) not in _known for row in rows):
        kept = works.by_input(book, VERB, EDITION)
        _known.update({(where, key): restored(Outcome, json.loads(text)) for key, text in kept.items()})
    return tuple(
        overview.line(row, _outcome(book, row.plan_digest) if row.plan_digest else None, granted.get(row.id))
        for row in rows
    )


def keep(book: Ledger, key: Key[str], plan: Plan) -> Outcome:
    """What a plan came to, kept in the ledger for every list of orders to come."""
    began, outcome = time.monotonic(), overview.outcome(plan)
    work = works.Work(digest((VERB, EDITION, [key])), VERB, EDITION, [key])
    works.record(book, work, json.dumps(plain(outcome)), time.monotonic() - began)
    return outcome


def _outcome(book: Ledger, key: Key[str]) -> Outcome | None:
    place = str(book.folder), key
    if place not in _known:
        try:
            _known[place] = keep(book, key, plans.plan(book, key))
        except LedgerError:  # of an edition that said less: the job has to be planned again to be told of
            _known[place] = None
    return _known[place]
