"""How sure one can be: propagation of uncertainty, and the chance to lie inside two limits."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr

from sagger.errors import LawError

Array = NDArray[np.float64]


def within(mean: float, u: float, lower: float, upper: float) -> float:
    """Chance that a normally distributed quantity lies between two limits [-].

    Parameters
    ----------
    mean, u : float
        Expected value and standard deviation; `u` = 0 means sure.
    lower, upper : float
        Limits, both counted as inside.

    Raises
    ------
    LawError
        If `u` is negative or the limits are crossed.
    """
    if u < 0 or upper < lower:
        raise LawError(f"u must not be negative nor the limits crossed: u {u:g}, {lower:g} to {upper:g}")
    if u == 0:
        return float(lower <= mean <= upper)
    low, high = (lower - mean) / u, (upper - mean) / u
    if low > 0:  # the far tail keeps its digits when it is mirrored
        low, high = -high, -low
    return float(ndtr(high) - ndtr(low))


def rectangular(half_width: float) -> float:
    """Standard uncertainty of a quantity known only to lie within ± `half_width` (JCGM 100, 4.3.7)."""
    return half_width / math.sqrt(3)


def combined(contributions: ArrayLike) -> float:
    """Combined standard uncertainty of independent contributions c_i u_i (JCGM 100, 5.1.2)."""
    return float(np.sqrt(np.sum(np.square(np.asarray(contributions, float)))))


def combined_by_result(contributions: ArrayLike) -> Array:
    """The same for several results at once: the first axis of contributions (n, ...) counts the inputs."""
    return np.asarray(np.sqrt(np.sum(np.square(np.asarray(contributions, float)), axis=0)))


def named_shares(contributions: Sequence[tuple[str, float]]) -> tuple[tuple[str, float], ...]:
    """Share of the variance of each named contribution, the largest first; none if all are zero."""
    parts = shares([size for _, size in contributions]).tolist()
    named = ((name, share) for (name, _), share in zip(contributions, parts, strict=True))
    return tuple(sorted(named, key=lambda part: -part[1])) if any(parts) else ()


def shares(contributions: ArrayLike) -> Array:
    """Share of the variance of each independent contribution [-]; they sum to 1, or to 0 if all are zero."""
    sizes: Array = np.abs(np.asarray(contributions, float))
    largest = sizes.max(initial=0.0)
    if largest == 0:
        return sizes
    squares = (sizes / largest) ** 2  # so that tiny contributions do not vanish when squared
    return np.asarray(squares / squares.sum())


def propagated(law: Callable[[Array], ArrayLike], values: Sequence[float], u: Sequence[float]) -> Array:
    """Contributions of independent inputs to each result of a law, one row per input.

    Parameters
    ----------
    law : callable
        From the array of inputs to one number or an array of m.
    values, u : sequence of n
        Inputs and their standard uncertainties.

    Returns
    -------
    array (n, m)
        Half the change of the result when one input goes from minus to plus one u.

    Source
    ------
    JCGM 100:2008, 5.1.3 note 2.
    """
    at = np.asarray(values, float)
    rows = []
    for index, step in enumerate(u):
        shift = np.zeros_like(at)
        shift[index] = step
        change = np.atleast_1d(np.asarray(law(at + shift), float)) - np.atleast_1d(
            np.asarray(law(at - shift), float)
        )
        rows.append(change / 2)
    return np.array(rows)


class Belief(NamedTuple):
    """A value and its standard uncertainty."""

    value: float
    u: float


def updated(prior: float, prior_u: float, read: float, read_u: float) -> Belief:
    """What to believe after a reading: normal prior times normal reading.

    Source
    ------
    Bayes' theorem for two normal distributions: precisions add, the mean is weighted with them.
    """
    if prior_u <= 0 or read_u <= 0:
        raise LawError(f"both uncertainties must be positive, got {prior_u:g} and {read_u:g}")
    precision = prior_u**-2 + read_u**-2
    return Belief((prior / prior_u**2 + read / read_u**2) / precision, precision**-0.5)


def conflict(prior: float, prior_u: float, read: float, read_u: float) -> float:
    """How many standard deviations a reading lies from what was believed [-], with sign."""
    return (read - prior) / math.hypot(prior_u, read_u)


def inflation(gain: float) -> float:
    """How much a stable process varies more when each deviation is corrected by `gain` times itself [-].

    Source
    ------
    Ratio of variances, 2 / (2 - gain); the variance of an exponentially weighted average, derived.
    """
    if not 0 <= gain < 2:
        raise LawError(f"a gain outside 0 to 2 does not settle, got {gain:g}")
    return 2 / (2 - gain)
