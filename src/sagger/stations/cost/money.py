"""What things cost: rates and lines. Money in one currency, time in seconds."""

from __future__ import annotations


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
