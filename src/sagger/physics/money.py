"""What things cost: rates, lines, yield and break-even. Money in one currency, time in seconds."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np

from sagger.errors import LawError


def machine_rate(
    price: float,
    residual: float,
    life: float,
    interest: float,
    upkeep: float,
    hours: float,
    power: float = 0.0,
    energy_price: float = 0.0,
) -> float:
    """What a machine costs while it runs [currency/s].

    Parameters
    ----------
    price, residual : float
        When bought and when sold [currency].
    life : float
        Years in between.
    interest : float
        Per year, on the mean capital [-].
    upkeep : float
        Maintenance, floor, insurance [currency per year].
    hours : float
        In use, per year [s].
    power, energy_price : float
        Drawn while it runs [W], price of energy [currency/J].

    Source
    ------
    Straight-line depreciation and interest on the mean capital, common practice in costing.
    """
    if life <= 0 or hours <= 0:
        raise LawError(f"life and hours in use must be positive, got {life:g} and {hours:g}")
    yearly = (price - residual) / life + interest * (price + residual) / 2 + upkeep
    return yearly / hours + power * energy_price


def material(used: float, lost: float, price: float) -> float:
    """Price of material that stays in the pieces and of what is lost on the way [currency]; any one unit."""
    return (used + lost) * price


def run(time: float, rate: float, hands_on: float = 0.0, labour: float = 0.0, extra: float = 0.0) -> float:
    """Price of a machine's time, the hands on it, and what a run takes besides [currency].

    Parameters
    ----------
    time, rate : float
        Machine [s], [currency/s].
    hands_on, labour : float
        Attended [s], [currency/s].
    extra : float
        Gas, energy, consumables [currency].
    """
    return time * rate + hands_on * labour + extra


def overhead(total: float, material: float, share: float) -> float:
    """Overhead on all but material [currency]."""
    return (total - material) * share


def yield_total(yields: Iterable[float]) -> float:
    """Share of started pieces that come out good, after all steps [-]."""
    values = tuple(yields)
    if any(not 0 < value <= 1 for value in values):
        raise LawError(f"a yield must lie above 0 and not above 1, got {values}")
    return math.prod(values)


def starts(good: int, yields: Iterable[float]) -> int:
    """Pieces to start so that `good` are expected to come out."""
    share = yield_total(yields)
    return math.ceil(good / share - 1e-9)


def price_when_found_last(total: float, started: float, yields: Iterable[float]) -> float:
    """Price per good piece when scrap is found only at the end [currency]."""
    return total / (started * yield_total(yields))


def price_when_found_at_once(steps: Sequence[float], yields: Sequence[float]) -> float:
    """Price per good piece when scrap is found at the step that made it [currency].

    Parameters
    ----------
    steps : sequence of n
        What each step costs per piece that enters it [currency].
    yields : sequence of n
        Share that leaves each step good [-].

    Source
    ------
    Recursion c_k = (c_(k-1) + a_k) / y_k; never above `price_when_found_last`.
    """
    yield_total(yields)
    price = 0.0
    for step, share in zip(steps, yields, strict=True):
        price = (price + step) / share
    return price


def break_even(tooling: float, price: float, other: float) -> float:
    """Quantity up to which pieces without tooling are cheaper than at `other` with it; inf = always."""
    if price <= other:
        return math.inf
    return tooling / (price - other)


def shares(amounts: Sequence[float]) -> list[float]:
    """Share of each amount in their sum [-]."""
    values = np.asarray(amounts, float)
    if values.sum() <= 0:
        raise LawError("shares need a positive total")
    return [float(value) for value in values / values.sum()]
