"""What plans promised of sizes, held against the readings of the pieces, by how long ago it was promised."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from typing import NamedTuple

from sagger.desk.home import ledger
from sagger.desk.planning import history
from sagger.goods.plain import Table
from sagger.goods.planned import WholePlan
from sagger.goods.planned_quote import PlanPromise
from sagger.goods.reading import Reading
from sagger.ledger import boxes, readings
from sagger.statistics import coverage

MM = 1e-3
NEAR_MM = 1e-3  # nominal sizes closer than this are one
HORIZONS = (
    (7, "within a week"),
    (31, "within a month"),
    (None, "later"),
)  # days from the plan to the reading
UNDATED = "no date"


class PromisedSize(NamedTuple):
    """A size that was promised and measured."""

    part: str
    axis: str
    chance: float  # promised [-]
    met: bool
    days: float | None  # from the plan to the reading


class HorizonShare(NamedTuple):
    """Sizes that were promised about as long before they were measured."""

    horizon: str
    sizes: int
    promised_percent: float
    met: int
    met_percent: float
    low_percent: float  # by so few, were they independent; pieces of one lot are not
    high_percent: float


def scored() -> tuple[Table, list[str]]:
    """Promised against met, from the shop's own ledger, as a document and as lines."""
    sizes = _measured()
    shares = by_horizon(sizes)
    lines = [
        f"{share.horizon}: {share.promised_percent:.1f} % promised, {share.met} of {share.sizes} met "
        f"({share.met_percent:.1f} %; by so few {share.low_percent:.1f} to {share.high_percent:.1f} %)"
        for share in shares
    ]
    nothing = "nothing to hold promises against: book boxes from their jobs, and load finished lengths"
    document: Table = {"schema": "sagger-promised/1", "rows": len(sizes)}
    return document | {"by_horizon": [dict(share._asdict()) for share in shares]}, lines or [nothing]


def by_horizon(sizes: Iterable[PromisedSize]) -> list[HorizonShare]:
    """Share promised and share met, the soonest measured first."""
    groups: dict[str, list[PromisedSize]] = {}
    for size in sizes:
        groups.setdefault(_horizon(size.days), []).append(size)
    names = [name for name in (*(name for _, name in HORIZONS), UNDATED) if name in groups]
    return [_horizon_share(name, groups[name]) for name in names]


def _horizon_share(name: str, sizes: list[PromisedSize]) -> HorizonShare:
    met, number = sum(size.met for size in sizes), len(sizes)
    low, high = coverage.bounds(met, number)
    promised = 100 * sum(size.chance for size in sizes) / number
    return HorizonShare(name, number, promised, met, 100 * met / number, 100 * low, 100 * high)


def _horizon(days: float | None) -> str:
    if days is None:
        return UNDATED
    return next(name for most, name in HORIZONS if most is None or days <= most)


def _measured() -> list[PromisedSize]:
    """Finished lengths of pieces whose box was booked from a job, beside what its plan promised of them."""
    book, plans, sizes = ledger(), {}, []
    for reading in readings.listed(book, kind="length"):
        if reading.box not in plans:
            with book.reading() as connection:
                planned = boxes.plan_of(connection, reading.box)
            plans[reading.box] = planned and (history.facts(planned[0]).began, history.plan(planned[0]))
        began, plan = plans[reading.box] or ("", None)
        if isinstance(plan, WholePlan) and not reading.coupon and reading.state == _finished(plan):
            promise = _promise(plan, reading)
            if promise is not None:
                off = reading.value / MM - promise.nominal_mm * _enlarged(plan, reading.axis)
                inside = promise.lower_mm <= promise.nominal_mm + off <= promise.upper_mm
                days = _days(began, reading.taken)
                chance = promise.chance_percent / 100
                sizes.append(PromisedSize(reading.part, reading.axis, chance, inside, days))
    return sizes


def _finished(plan: WholePlan) -> str:
    """State of a piece that is finished: sand is as it is printed."""
    return "sintered" if plan.sinter is not None else "green"


def _enlarged(plan: WholePlan, axis: str) -> float:
    """Size of a finished piece over that asked for: cores of sand are larger by the casting's contraction."""
    k = plan.factors.k
    if plan.sinter is not None:
        return 1.0
    return k["xyz".index(axis)] if axis else sum(k) / len(k)


def _promise(plan: WholePlan, reading: Reading) -> PlanPromise | None:
    """What the plan promised of this size of this part; of several as long, that of the same axis.

    A reading names the machine's axis and a promise the part's, so a piece that lay otherwise is told by its
    nominal size.
    """
    if reading.nominal is None:
        return None
    alike = [
        promise
        for promise in plan.quote.promises
        if plan.parts[promise.part].name == reading.part
        and abs(promise.nominal_mm - reading.nominal / MM) < NEAR_MM
    ]
    return min(alike, key=lambda promise: promise.dimension != reading.axis, default=None)


def _days(began: str, taken: str) -> float | None:
    """Days from a plan to a reading; None if either has no date that can be read."""
    try:
        first, last = (datetime.date.fromisoformat(day[:10]) for day in (began, taken))
    except ValueError:
        return None
    return float((last - first).days)
