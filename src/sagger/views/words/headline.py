"""What a person asks first of two plans: odds, time, powder, price, date."""

from __future__ import annotations

import datetime

from sagger.goods.planned import WholePlan
from sagger.views.wording import duration, moment
from sagger.views.words.compare import Measure, Pair, compare, pair
from sagger.views.words.standing import rest

GROUP = "In short"
_TAKEN = (
    "printing", "furnace run", "powder fed", "powder lost", "saturation as printed", "relative density",
    "boxes", "whole order",
)  # fmt: skip


def headline(one: WholePlan, other: WholePlan) -> tuple[Pair, ...]:
    """A few lines of the comparison, the odds first.

    Parameters
    ----------
    one, other : WholePlan
        Of two jobs that were planned.
    """
    known = {line.name: line for line in compare(one, other)}
    return (*_odds(one, other), *(known[name] for name in _TAKEN if name in known), _ready(one, other))


def _odds(one: WholePlan, other: WholePlan) -> tuple[Pair, ...]:
    line = pair(Measure(GROUP, "chance, least certain size", "%", "shrink", _least, True, 1), one, other)
    return () if line is None else (line,)


def _least(plan: WholePlan) -> float | None:
    return min((promise.chance_percent for promise in plan.quote.promises), default=None)


def _ready(one: WholePlan, other: WholePlan) -> Pair:
    first, second = (datetime.datetime.fromisoformat(plan.quote.ready) for plan in (one, other))
    apart = (second - first).total_seconds()
    later = f"{duration(abs(apart))} {'later' if apart > 0 else 'sooner'}"
    return Pair(
        group=GROUP,
        name="ready",
        unit="",
        one=moment(one.quote.ready),
        other=moment(other.quote.ready),
        differs=later if apart else "",
        better="" if not apart else "one" if apart > 0 else "other",
        rests=(rest(one, "cost"), rest(other, "cost")),
    )
