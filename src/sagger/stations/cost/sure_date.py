"""When an order is ready, and how surely: hours scatter, and a second start helps where the first fails."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterable
from datetime import date, datetime
from typing import NamedTuple

import numpy as np

from sagger.goods.job import Build
from sagger.goods.shop import Shop
from sagger.goods.sintered import Sintered
from sagger.stations.cost.calendar import DatedSteps, ShopPace, moment, steps
from sagger.stations.cost.charges import inspected
from sagger.stations.cost.pace import paces

DRAWS = 512  # of the shop's pace: enough for the date that one order in twenty passes
SLACK = 1e-12  # of a sum of shares that is one


class Start(NamedTuple):
    """An order started once, and when a second start would be ready."""

    route: DatedSteps
    ready: datetime
    second: datetime


def started(
    start: str, builds: tuple[Build, ...], sintered: Sintered | None, shop: Shop, hands: np.ndarray
) -> Callable[[ShopPace], Start]:
    """An order on the calendar, at any pace of the shop.

    Parameters
    ----------
    start : str
        ISO date and time.
    hands : array (parts,)
        Hands-on time of inspection of all pieces of each part [s].
    """
    box = min(builds, key=lambda build: build.timetable.build)
    pieces = np.bincount([piece.part for piece in box.layout.pieces])
    again = inspected(pieces, shop, fired=sintered is not None)
    one = sintered
    if sintered is not None:
        one = dataclasses.replace(sintered, load=dataclasses.replace(sintered.load, runs=1))

    def at(pace: ShopPace) -> Start:
        route = steps(moment(start), builds, sintered, shop, inspected=hands, pace=pace)
        ready = _last(route)
        # it begins once the first start was inspected: the quickest box, one run
        return Start(route, ready, _last(steps(ready, (box,), one, shop, inspected=again, pace=pace)))

    return at


def _last(route: DatedSteps) -> datetime:
    return max(datetime.fromisoformat(step.ends) for step in route.steps)


def drawn(start: Callable[[ShopPace], Start], shop: Shop, draws: int) -> list[Start]:
    """The order by draws of the shop's pace, the first of those that its price is drawn with."""
    # a shop whose hours do not scatter has one pace
    return [start(pace) for pace in dict.fromkeys(paces(shop, draws)[:DRAWS])]


class Enough(NamedTuple):
    """Shares of orders in which there are enough good pieces."""

    once: float  # after the first start
    twice: float  # after a second one for those missing


def sure(starts: Iterable[Start], enough: Enough, wanted: float) -> datetime | None:
    """The moment by which so large a share of orders is ready with enough good pieces; None if none is.

    Source
    ------
    Definition of the quantile as order statistic, of the mixture of first and second starts.
    """
    moments = sorted((when, share) for one in starts for when, share in _moments(one, enough))
    reached = np.cumsum([share for _, share in moments]) / (len(moments) / 2)
    place = int(np.searchsorted(reached, wanted - SLACK))
    return moments[place][0] if place < len(moments) else None


def _moments(one: Start, enough: Enough) -> tuple[tuple[datetime, float], tuple[datetime, float]]:
    return (one.ready, enough.once), (one.second, enough.twice - enough.once)


def in_time(starts: Iterable[Start], part: int, enough: Enough, due: date) -> float:
    """Share of orders in which a part is ready by a day, of those that come to enough good pieces of it."""
    first, second = np.mean(
        [(one.route.ready[part].date() <= due, one.second.date() <= due) for one in starts], axis=0
    )
    if enough.twice <= 0:
        return float(second)
    return float((enough.once * first + (enough.twice - enough.once) * second) / enough.twice)
