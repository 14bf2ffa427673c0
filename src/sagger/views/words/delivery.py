"""When an offered order is ready, how sure that is, and what of it is due before."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from sagger.goods.planned import PlanPart, WholePlan
from sagger.goods.planned_quote import PiecePrice
from sagger.views.wording import moment
from sagger.views.words import odds


def lines(plan: WholePlan, offered: Sequence[PiecePrice]) -> Iterator[str]:
    """Date, with the chance that it is kept; parts that are due before."""
    ready = moment(plan.quote.ready)
    yield (
        f"Ready {ready}, if work begins on {moment(plan.order.start)}."
        if plan.order.start
        else f"Ready {ready}."
    )
    promise, sure = plan.promise, plan.quote.sure_ready
    if promise is not None and promise.pieces and len(offered) == len(plan.quote.prices):
        kept = odds.percent(promise.kept_percent / 100)
        yield f"By then every part has as many good pieces as asked in {kept} of orders like this one."
    if sure not in ("", plan.quote.ready):
        yield f"Otherwise a second start makes up for what is missing, ready {moment(sure)}."
    for price in offered:
        yield from _asked_for(plan.parts[price.part], price, plan)


def _asked_for(part: PlanPart, price: PiecePrice, plan: WholePlan) -> Iterator[str]:
    """A date that was asked for, against that of the part's own pieces and of a second start."""
    first = price.ready or plan.quote.ready
    own = f"{part.name}: ready {moment(first)}" if first != plan.quote.ready else part.name
    if not part.due:
        if first != plan.quote.ready:
            yield f"{own}."
        return
    second = plan.quote.sure_ready or first
    if first[:10] > part.due:
        verdict = "that date is not met"
    elif second[:10] > part.due:
        verdict = "in time, but not if a second start is needed"
    else:
        verdict = "in time"
    yield f"{own}{', asked for' if first != plan.quote.ready else ' is asked for'} by {part.due}: {verdict}."
