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


def cp(lower: float, upper: float, sd: float) -> float:
    """Width of the limits over six standard deviations [-] (ISO 22514-2)."""
    return (upper - lower) / (6 * _positive(sd))


def cpk(lower: float, upper: float, mean: float, sd: float) -> float:
    """Distance of the mean to the nearer limit over three standard deviations [-] (ISO 22514-2)."""
    return min(upper - mean, mean - lower) / (3 * _positive(sd))


def cpm(lower: float, upper: float, mean: float, sd: float, target: float) -> float:
    """Width of the limits over six root mean square deviations from a target [-]."""
    return (upper - lower) / (6 * math.hypot(_positive(sd), mean - target))


def by_percentiles(lower: float, upper: float, low: float, middle: float, high: float) -> tuple[float, float]:
    """Index and index to the nearer limit of any distribution [-].

    Parameters
    ----------
    low, middle, high : float
        Quantiles 0.00135, 0.5 and 0.99865.

    Source
    ------
    ISO 22514-2, percentile method.
    """
    nearer = min((upper - middle) / (high - middle), (middle - lower) / (middle - low))
    return (upper - lower) / (high - low), nearer


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


def one_sided(count: int, share: float, sure: float) -> float:
    """Factor k: mean + k s lies above at least `share` of a normal population (noncentral t, exact)."""
    root = math.sqrt(count)
    return float(stats.nct.ppf(sure, _free(count), float(stats.norm.ppf(share)) * root)) / root


def natrella(count: int, share: float, sure: float) -> float:
    """Factor of a one-sided tolerance interval by approximation (NIST/SEMATECH e-Handbook 7.2.6.3)."""
    zp, zg = float(stats.norm.ppf(share)), float(stats.norm.ppf(sure))
    a, b = 1 - zg**2 / (2 * _free(count)), zp**2 - zg**2 / count
    return (zp + math.sqrt(zp**2 - a * b)) / a


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
