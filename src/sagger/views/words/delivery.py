"""When an offered order is ready, how sure that is, and what of it is due before."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from sagger.goods.planned import WholePlan
from sagger.goods.planned_part import PlanPart
from sagger.goods.planned_quote import PiecePrice
from sagger.views.wording import moment
from sagger.views.words import odds


def lines(plan: WholePlan, offered: Sequence[PiecePrice]) -> Iterator[str]:
    """Date, with the chance that it is kept; parts that are due before."""
    begins = f", if work begins on {moment(plan.order.start)}" if plan.order.start else ""
    promise, sure = plan.promise, plan.quote.sure_ready
    if promise is None or not promise.pieces or len(offered) != len(plan.quote.prices):
        yield f"Ready {moment(plan.quote.ready)}{begins}."
    else:
        yield f"Ready {moment(plan.quote.ready)} by planned hours{begins}."
        twice = promise.kept_twice_percent
        told = odds.kept(promise.kept_percent / 100, None if twice is None else twice / 100)
        yield f"{told[0].upper()}{told[1:]}."
        if sure:
            wanted = odds.of_orders(promise.sure_percent / 100)
            yield f"Ready by {moment(sure)} in {wanted} like this one: hours may run longer than planned."
        elif twice is not None:
            yield f"{odds.no_date(promise.sure_percent / 100).capitalize()}."
    for price in offered:
        yield from _asked_for(plan.parts[price.part], price, plan)


def _asked_for(part: PlanPart, price: PiecePrice, plan: WholePlan) -> Iterator[str]:
    """A date that was asked for, against that of the part's own pieces and the one as sure as wanted."""
    first = price.ready or plan.quote.ready
    own = f"{part.name}: ready {moment(first)}" if first != plan.quote.ready else part.name
    if not part.due:
        if first != plan.quote.ready:
            yield f"{own}."
        return
    sure, promise = plan.quote.sure_ready, plan.promise
    if first[:10] > part.due:
        verdict = "that date is not met"
    elif promise is not None and promise.pieces and not "" < sure[:10] <= part.due:
        verdict = f"in time by planned hours, but not in {odds.of_orders(promise.sure_percent / 100)}"
    else:
        verdict = "in time"
    yield f"{own}{', asked for' if first != plan.quote.ready else ' is asked for'} by {part.due}: {verdict}."
