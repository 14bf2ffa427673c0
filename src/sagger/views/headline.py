"""What a person asks first of two plans: odds, time, powder, price, date."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import Any

from sagger.views.compare import Pair, compare, pair
from sagger.views.standing import rest
from sagger.views.wording import duration, moment

GROUP = "In short"
_TAKEN = ("printing", "furnace run", "powder fed", "powder lost", "relative density", "boxes", "whole order")


def headline(one: Mapping[str, Any], other: Mapping[str, Any]) -> tuple[Pair, ...]:
    """A few lines of the comparison, the odds first.

    Parameters
    ----------
    one, other : mapping
        plan.json of two jobs that were planned.
    """
    known = {each.name: each for each in compare(one, other)}
    return (*_odds(one, other), *(known[name] for name in _TAKEN if name in known), _ready(one, other))


def _odds(one: Mapping[str, Any], other: Mapping[str, Any]) -> tuple[Pair, ...]:
    least = [
        min((each["chance_percent"] for each in plan["quote"]["promises"]), default=None)
        for plan in (one, other)
    ]
    if None in least:
        return ()
    rests = (rest(one, "shrink"), rest(other, "shrink"))
    return (pair(GROUP, "chance, least certain size", "%", least, rests, higher=True, places=1),)


def _ready(one: Mapping[str, Any], other: Mapping[str, Any]) -> Pair:
    said = [datetime.datetime.fromisoformat(plan["quote"]["ready"]) for plan in (one, other)]
    apart = (said[1] - said[0]).total_seconds()
    later = f"{duration(abs(apart))} {'later' if apart > 0 else 'sooner'}"
    return Pair(
        group=GROUP,
        name="ready",
        unit="",
        one=moment(one["quote"]["ready"]),
        other=moment(other["quote"]["ready"]),
        differs=later if apart else "",
        better="" if not apart else "one" if apart > 0 else "other",
        rests=(rest(one, "cost"), rest(other, "cost")),
    )
