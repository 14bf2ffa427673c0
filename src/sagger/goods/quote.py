"""What it costs, when it is ready, and what can be promised."""

from __future__ import annotations

from sagger.goods.finding import Finding
from sagger.goods.good import good, holds
from sagger.goods.promised import Promise


@good
class Line:
    """One line of the calculation, for the whole order."""

    name: str = holds("of what is paid for")
    amount: float = holds("in the quote's currency")
    basis: str = holds("what it was computed from, in words and numbers")


@good
class PartPrice:
    """What one good piece costs."""

    part: int = holds("index into `parts`")
    asked: int = holds("good pieces asked for")
    started: int = holds("pieces printed")
    good_pieces: int = holds("whole good pieces expected of those started, on average")
    expected: float = holds("good pieces expected of those started, on average, fractions kept")
    amount: float = holds("for all of them, coupons printed for them included, in the quote's currency")
    price_per_piece: float = holds("of one good piece delivered, in the quote's currency")
    price_low: float = holds("of one: one order in twenty is cheaper, by yields and hours", default=0.0)
    price_high: float | None = holds(
        "of one: one order in twenty is dearer; None if such an order delivers no good piece", default=None
    )
    ready: str = holds(
        "ISO date and time at which the last of its pieces is inspected, by planned hours", default=""
    )
    cheapest: int | None = holds(
        "pieces to start that cost least, second start for missing ones counted; None if none is sure enough",
        default=None,
    )
    price_of_sureness: float | None = holds(
        "of starting as many as the chance asked for takes instead, in the quote's currency", default=None
    )


@good
class QuantityPrice:
    """What the order would cost at another size; machines that run anyway are filled first."""

    times: float = holds("the quantities of the order")
    total: float = holds("about, for the whole order, in the quote's currency")
    per_good: float = holds("about, for one good piece delivered, over all parts")


@good
class Step:
    """One step of the route on the calendar."""

    name: str = holds("of the step")
    hours: float = holds("from start to end of the work", "h")
    starts: str = holds("ISO date and time")
    ends: str = holds("ISO date and time")


@good
class Quote:
    """Price, date and promise."""

    currency: str = holds("of every amount")
    lines: tuple[Line, ...] = holds("what the total is made of")
    total: float = holds("in `currency`, for the whole order")
    yield_total: float = holds("good pieces of those started", "share")
    prices: tuple[PartPrice, ...] = holds("by part")
    promises: tuple[Promise, ...] = holds("by part and dimension")
    steps: tuple[Step, ...] = holds("of the route, as they follow each other")
    ready: str = holds("ISO date and time, by planned hours")
    second_ready: str = holds(
        "ISO date and time, by planned hours, of a second start, if the first holds too few good pieces",
        default="",
    )
    sure_ready: str = holds(
        "ISO date and time by which every part has as many good pieces as asked, with the chance asked for, "
        "hours drawn and a second start counted; empty where none is that sure",
        default="",
    )
    quantities: tuple[QuantityPrice, ...] = holds("price at other sizes of the order", default=())
    findings: tuple[Finding, ...]
