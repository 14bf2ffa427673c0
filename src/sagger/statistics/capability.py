"""How well a process keeps to its limits, and how sure that is with few pieces."""

from __future__ import annotations

import math
from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike
from scipy import optimize, special, stats

from sagger.errors import LawError

LEAST = 25  # pieces below which an index alone says too little; common practice, no source


class Index(NamedTuple):
    """Capability index with bounds; `value` is None below 25 pieces, the bounds never are."""

    value: float | None
    low: float
    high: float
    least: float  # one-sided lower bound


class Centred(NamedTuple):
    """What the same scatter comes to about the middle of the limits, and what it comes to about a target."""

    value: float | None  # width index; None below 25 pieces
    low: float
    high: float
    outside: float  # share of pieces outside the limits if the mean lay in their middle [-]
    target: float | None  # index about the target; None below 25 pieces


def cp(lower: float, upper: float, sd: float) -> float:
    """Width of the limits over six standard deviations [-] (ISO 22514-2)."""
    return (upper - lower) / (6 * _positive(sd))


def cpk(lower: float, upper: float, mean: float, sd: float) -> float:
    """Distance of the mean to the nearer limit over three standard deviations [-] (ISO 22514-2)."""
    return min(upper - mean, mean - lower) / (3 * _positive(sd))


def cpm(lower: float, upper: float, mean: float, sd: float, target: float) -> float:
    """Width of the limits over six root mean square deviations from a target [-]."""
    return (upper - lower) / (6 * math.hypot(_positive(sd), mean - target))


def cp_bounds(value: float, count: int, sure: float = 0.95) -> tuple[float, float]:
    """Confidence interval of a width index from `count` pieces (chi-square distribution of the variance)."""
    free = _free(count)
    tails = stats.chi2.ppf([(1 - sure) / 2, (1 + sure) / 2], free)
    low, high = (value * math.sqrt(tail / free) for tail in tails)
    return low, high


def cpk_bounds(value: float, count: int, sure: float = 0.95) -> tuple[float, float]:
    """Confidence interval of an index to the nearer limit.

    Source
    ------
    Bissell, Appl. Statist. 39 (1990) 331: normal approximation.
    """
    half = float(stats.norm.ppf((1 + sure) / 2)) * _spread(value, count)
    return value - half, value + half


def cpk_least(value: float, count: int, sure: float = 0.95) -> float:
    """Lower bound of an index to one limit, exact for a normal distribution (noncentral t)."""
    wide = 3 * math.sqrt(count)
    return float(special.nctdtrinc(_free(count), sure, wide * value)) / wide


def judged(values: ArrayLike, lower: float, upper: float) -> Index:
    """Index to the nearer limit of measured values; without a bare value below 25 pieces."""
    given = np.asarray(values, float)
    found = cpk(lower, upper, float(given.mean()), float(given.std(ddof=1)))
    low, high = cpk_bounds(found, len(given))
    return Index(found if len(given) >= LEAST else None, low, high, cpk_least(found, len(given)))


def centred(values: ArrayLike, lower: float, upper: float, target: float) -> Centred:
    """Width index of measured values with bounds, and index about a target; bare ones from 25 pieces on."""
    given = np.asarray(values, float)
    mean, sd, enough = float(given.mean()), float(given.std(ddof=1)), len(given) >= LEAST
    index = cp(lower, upper, sd)
    low, high = cp_bounds(index, len(given))
    about = cpm(lower, upper, mean, sd, target)
    return Centred(index if enough else None, low, high, fallout(index), about if enough else None)


def fallout(index: float) -> float:
    """Share outside both limits of a centred normal process with this index [-]."""
    return 2 * float(stats.norm.sf(3 * index))


def howe(count: int, share: float, sure: float) -> float:
    """Factor of a two-sided tolerance interval by approximation.

    Source
    ------
    Howe, J. Am. Stat. Assoc. 64 (1969) 610; NIST/SEMATECH e-Handbook 7.2.6.3.
    """
    free, z = _free(count), float(stats.norm.ppf((1 + share) / 2))
    return z * math.sqrt(free * (1 + 1 / count) / float(stats.chi2.ppf(1 - sure, free)))


@cache
def two_sided(count: int, share: float, sure: float) -> float:
    """Factor k: mean ± k s holds at least `share` of a normal population with confidence `sure`.

    Source
    ------
    ISO 16269-6, exact: the chance over the mean's own scatter, integrated by Gauss and Hermite's rule.
    """
    free = _free(count)
    nodes, weights = np.polynomial.hermite.hermgauss(60)
    shifts = nodes * math.sqrt(2 / count)
    radii = np.array([_radius(shift, share) for shift in shifts])

    def off(factor: float) -> float:
        chances = stats.chi2.sf(free * (radii / factor) ** 2, free)
        return float(weights @ chances) / math.sqrt(math.pi) - sure

    guess = howe(count, share, sure)
    return float(optimize.brentq(off, 0.5 * guess, 2 * guess, xtol=1e-10))


def _radius(shift: float, share: float) -> float:
    """Half width about `shift` that holds `share` of a standard normal population."""

    def off(r: float) -> float:
        return float(stats.norm.cdf(shift + r) - stats.norm.cdf(shift - r)) - share

    return float(optimize.brentq(off, 0.0, abs(shift) + 10.0))


def _spread(value: float, count: int) -> float:
    return math.sqrt(1 / (9 * count) + value**2 / (2 * _free(count)))


def _free(count: int) -> int:
    if count < 2:
        raise LawError(f"a scatter needs two pieces at least, got {count}")
    return count - 1


def _positive(sd: float) -> float:
    if not sd > 0:
        raise LawError(f"a capability needs a scatter above 0, got {sd:g}")
    return sd
