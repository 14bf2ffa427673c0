"""What a plan says of price, chance and promise, as it is read again by the keys of plan.json."""

from __future__ import annotations

from sagger.goods.good import good


@good
class PriceLine:
    name: str
    amount: float
    basis: str


@good
class PiecePrice:
    part: int
    asked: int = 0  # 0 in plans of earlier editions
    started: int = 0
    good_pieces: int
    expected: float | None = None
    amount: float = 0.0
    price_per_piece: float
    cheapest: int | None = None
    price_of_sureness: float | None = None
    price_low: float = 0.0  # this and the next two: nothing in plans of earlier editions
    price_high: float | None = None
    ready: str = ""


@good
class DoubtShare:
    name: str
    percent: float


@good
class PlanPromise:
    """The chance that a size lies inside its tolerance."""

    part: int
    dimension: str
    nominal_mm: float
    lower_mm: float
    upper_mm: float
    u_mm: float
    chance_percent: float
    shares: tuple[DoubtShare, ...]  # the largest first
    passed_percent: float | None = None  # None in plans of earlier editions


@good
class PlanLine:
    """The chance that a line of the drawing is met."""

    part: int
    line: int  # in the drawing's table, from 1
    what: str
    features: int
    unit: str  # of the values below
    nominal: float | None
    lower: float
    upper: float
    expected: float
    u: float
    shares: tuple[DoubtShare, ...]  # the largest first
    operator: str
    chance_percent: float
    passed_percent: float
    alone_percent: float
    stock_mm: float | None


@good
class PlanGain:
    """What a change would make of the chance of a piece."""

    name: str
    chance_percent: float
    least: int | None
    stock_mm: float | None = None


@good
class PlanOdds:
    """The chance of a whole piece, and of enough of them."""

    part: int
    asked: int
    started: int
    sure_percent: float
    chance_percent: float
    passed_percent: float
    low_percent: float
    high_percent: float
    expected: float
    enough_percent: float
    least: int | None
    ceiling_percent: float
    raised: tuple[PlanGain, ...]
    slipped_percent: float | None = None  # this and the next: None in plans of earlier editions
    enough_twice_percent: float | None = None


@good
class PlanPromised:
    """What is promised of the order as a whole."""

    sure_percent: float
    kept_percent: float
    pieces: tuple[PlanOdds, ...]
    lines: tuple[PlanLine, ...] = ()  # of the drawings; none in plans of earlier editions
    kept_twice_percent: float | None = None  # None in plans of earlier editions


@good
class PlanQuantity:
    """What the order would cost at another size."""

    times: float
    total: float
    per_good: float


@good
class PlanQuote:
    currency: str
    total: float
    lines: tuple[PriceLine, ...]
    yield_percent: float
    prices: tuple[PiecePrice, ...]
    promises: tuple[PlanPromise, ...]
    ready: str  # ISO 8601
    second_ready: str = ""  # this and the next two: empty in plans of earlier editions
    sure_ready: str = ""
    quantities: tuple[PlanQuantity, ...] = ()
