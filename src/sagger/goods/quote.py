"""What it costs, when it is ready, and what can be promised."""

from __future__ import annotations

from sagger.goods.finding import Finding
from sagger.goods.good import good


@good
class Line:
    """One line of the calculation, for the whole order."""

    name: str
    amount: float  # [currency of the shop]
    basis: str  # what it was computed from, in words and numbers


@good
class Promise:
    """One dimension: what is asked, what is expected, and the chance that it is met."""

    part: int
    dimension: str  # "x", "y", "z": overall size along machine axes
    nominal_mm: float
    lower_mm: float
    upper_mm: float
    u_mm: float  # standard uncertainty of the finished size
    shares: tuple[tuple[str, float], ...]  # name and share of the variance, sum 1
    chance: float  # [-]
    without: tuple[tuple[str, float], ...] = ()  # chance if one source of doubt were gone, best first


@good
class PartPrice:
    part: int
    good_pieces: int
    price_per_piece: float


@good
class Step:
    name: str
    hours: float
    starts: str  # ISO date and time
    ends: str


@good
class Quote:
    currency: str
    lines: tuple[Line, ...]
    total: float
    yield_total: float  # [-]
    prices: tuple[PartPrice, ...]
    promises: tuple[Promise, ...]
    steps: tuple[Step, ...]
    ready: str  # ISO date and time
    findings: tuple[Finding, ...]
