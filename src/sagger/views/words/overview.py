"""All orders at a glance: what each asks of a person, and what its plan came to."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from sagger.goods.good import good
from sagger.goods.planned import Plan, RefusedPlan
from sagger.goods.record import JobRecord, PlanApproval
from sagger.views.wording import moment
from sagger.views.words.decide import DUE, Decision, on_state, planned
from sagger.views.words.standing import Rest, rest


@good
class Outcome:
    """What a plan came to, as far as a list of orders tells it."""

    asks: Decision
    pieces: int | None  # None if intake stopped the job
    price: str
    ready: str
    due: str  # the earliest date that was asked for, "" = none
    rests: Rest | None  # what price and date rest on
    total: float | None = None  # the price as a number
    chance: float | None = None  # that the order holds as many good pieces as asked [%]
    late: bool = False  # a part comes after its date
    customer: str = ""
    reference: str = ""


@good
class OrderLine:
    """One job in the list of orders."""

    job: int
    name: str
    state: str
    to_do: str  # what is done now, or what a person is to decide
    waits: bool  # whether it is a person who must act
    outcome: Outcome | None
    changed: str


def outcome(plan: Plan) -> Outcome:
    """What a list of orders tells of a plan.

    Parameters
    ----------
    plan : Plan
        Of a job.
    """
    if isinstance(plan, RefusedPlan):
        return Outcome(asks=planned(plan), pieces=None, price="", ready="", due="", rests=None)
    quote = plan.quote
    dues = sorted(part.due for part in plan.parts if part.due)
    return Outcome(
        asks=planned(plan),
        pieces=sum(part.quantity for part in plan.parts),
        price=f"{quote.total:.2f} {quote.currency}",
        ready=moment(quote.ready),
        due=moment(dues[0]) if dues else "",
        rests=rest(plan, "cost"),
        total=quote.total,
        chance=plan.promise.kept_percent if plan.promise else None,
        late=any(finding.what == DUE and finding.level != "ok" for finding in plan.findings),
        customer=plan.order.customer,
        reference=plan.order.reference,
    )


def line(row: JobRecord, came_to: Outcome | None, approval: PlanApproval | None) -> OrderLine:
    """A job in the list of orders.

    Parameters
    ----------
    row : JobRecord
        The job as the ledger knows it.
    came_to : Outcome or None
        Of its plan, once there is one.
    approval : PlanApproval or None
        Who approved it, and when.
    """
    asks = on_state(row, approval, came_to.asks if came_to else None)
    doing = f"{row.doing} {row.done} of {row.total}" if row.total else row.doing
    return OrderLine(
        job=row.id,
        name=row.name,
        state="approved" if approval else row.state,
        to_do=doing if row.state == "running" and doing else asks.words,
        waits=asks.waits,
        outcome=came_to,
        changed=moment(row.ended or row.began),
    )


def of_interest(
    rows: Iterable[JobRecord], threads: Mapping[int, int], approved: Iterable[int]
) -> Iterator[JobRecord]:
    """The newest job of each order, and beside it the newest that was approved.

    Orders are told apart by their thread of versions, or by their folder; `rows` come newest first.
    """
    known = set(approved)
    newest: dict[int | str, JobRecord] = {}
    granted: dict[int | str, JobRecord] = {}
    for row in rows:
        order = threads.get(row.version or 0, row.folder)
        newest.setdefault(order, row)
        if row.id in known:
            granted.setdefault(order, row)
    for order, row in newest.items():
        yield row
        if order in granted and granted[order] is not row:
            yield granted[order]
