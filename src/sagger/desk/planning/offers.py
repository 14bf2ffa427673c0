"""An offer for a planned order, to send."""

from __future__ import annotations

import datetime
from pathlib import Path

from sagger import cards
from sagger.desk.home import card_folders, ledger, write_whole
from sagger.desk.planning import history
from sagger.desk.planning.orders import read, wish
from sagger.errors import InputError
from sagger.goods.planned import WholePlan
from sagger.ledger import jobs
from sagger.views.paper import outgoing
from sagger.views.words import offer as words
from sagger.views.words.letter import Letter, document


def offer(job: int) -> Letter:
    """The offer for an order as a job planned it, dated today.

    Raises
    ------
    InputError
        If the job came to no plan.
    """
    row, plan = history.facts(job), history.plan(job)
    if not isinstance(plan, WholePlan):
        raise InputError("this job came to no plan", field="job", value=job, remedy="Plan the order first.")
    today = datetime.date.today()
    valid = plan.order.valid or _valid(plan, today)
    return words.letter(
        words.Offered(job=job, plan=plan, digest=str(row.plan_digest), made=today.isoformat(), valid=valid)
    )


def can(job: int) -> bool:
    """Whether a job came to a plan that can be offered."""
    return isinstance(history.plan(job), WholePlan)


def sheet(job: int) -> tuple[str, bytes]:
    """The same as a page and as PDF."""
    return outgoing.sheet(offer(job))


def written(source: str, into: Path) -> tuple[dict[str, object], list[str]]:
    """The offer for an order file, or for a job by its number, left in the folder `into`."""
    job = int(source) if source.isdecimal() else _job_of(Path(source))
    made = offer(job)
    page, pdf = outgoing.sheet(made)
    write_whole(into / "offer.html", page.encode())
    write_whole(into / "offer.pdf", pdf)
    plan = history.plan(job)
    short = words.short(plan) if isinstance(plan, WholePlan) else []
    until = dict(made.facts).get("valid until")  # where anything is offered
    holds = f", valid until {until}" if until else ""
    lines = [f"{made.title} {made.number} for job {job}{holds}"]
    return document(made), [*lines, *short, f"results: {into / 'offer.pdf'}"]


def _job_of(path: Path) -> int:
    """The newest job that planned this order as it stands."""
    asked = read(path, wish())
    number = jobs.planned(ledger(), asked.digest, asked.order.start)
    if number is None:
        remedy = f"`sagger plan {path} --into FOLDER` plans it; then ask again."
        raise InputError("this order was not planned as it stands", file=path.name, remedy=remedy)
    return number


def _valid(plan: WholePlan, today: datetime.date) -> str:
    """As long as the shop card says; until withdrawn where it says nothing."""
    name = next((card.name for card in plan.cards if card.kind == "shop"), "")
    shop = cards.load("shop", name, card_folders())
    if shop.offer_time is None:
        return "withdrawn"
    return (today + datetime.timedelta(seconds=shop.offer_time.value)).isoformat()
