"""How often intervals held what they should."""

from __future__ import annotations

from scipy.stats import beta

from sagger.errors import LawError


def bounds(inside: int, number: int, sure: float = 0.95) -> tuple[float, float]:
    """Bounds of a share of which `inside` of `number` were seen.

    Parameters
    ----------
    inside, number : int
        Times it held, of how many.
    sure : float
        Chance with which the bounds hold the share at least [-].

    Raises
    ------
    LawError
        If there is nothing, or more inside than there are.

    Source
    ------
    Clopper and Pearson, Biometrika 26 (1934) 404, by quantiles of the beta distribution.
    """
    if not 0 <= inside <= number or number < 1:
        raise LawError(f"a share needs something it is of, got {inside} of {number}")
    tail = (1 - sure) / 2
    low = float(beta.ppf(tail, inside, number - inside + 1)) if inside else 0.0
    high = float(beta.ppf(1 - tail, inside + 1, number - inside)) if inside < number else 1.0
    return low, high
