"""Uncertainty of what is worked out of several readings, when some of them share an instrument."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.stats import t as student

from sagger.errors import LawError

Array = NDArray[np.float64]
Law = Callable[[Array], float]


class Found(NamedTuple):
    """A result and its standard uncertainty, in the result's unit."""

    value: float
    u: float


class Drawn(NamedTuple):
    """A result by Monte Carlo: mean, standard uncertainty, ends of the shortest interval of a share."""

    value: float
    u: float
    low: float
    high: float


def covariance(alone: ArrayLike, shared: ArrayLike, instruments: Sequence[str]) -> Array:
    """Covariance of readings, in their unit squared.

    Parameters
    ----------
    alone : (n,) float
        Standard uncertainty of each reading alone.
    shared : (n,) float
        Standard uncertainty that each shares with all readings of the same instrument.
    instruments : sequence of n str
        "" shares with none.

    Source
    ------
    JCGM 100:2008, F.1.2.3: a common influence makes u(x_i, x_j) = u_i u_j of its contributions.
    """
    own, common = np.asarray(alone, float), np.asarray(shared, float)
    names = np.asarray(instruments)
    same = (names[:, None] == names) & (names[:, None] != "")
    np.fill_diagonal(same, True)
    return np.asarray(np.diag(own**2) + same * np.outer(common, common))


def carried(law: Law, values: ArrayLike, covariances: ArrayLike) -> Found:
    """Result of a law and its standard uncertainty, first order.

    Parameters
    ----------
    law : callable
        From the array of n readings to one number.
    values : (n,) float
        Readings.
    covariances : (n, n) float
        Of the readings.

    Raises
    ------
    LawError
        If a variance is negative.

    Source
    ------
    JCGM 100:2008, 5.2.2 equation 13; slopes from half the change between minus and plus one u (5.1.3
    note 2). Blind where a slope is zero at the readings: compare with `drawn`.
    """
    at, matrix = np.asarray(values, float), np.asarray(covariances, float)
    if (np.diag(matrix) < 0).any():
        raise LawError("a variance cannot be negative; check the uncertainties of the readings")
    steps = np.sqrt(np.diag(matrix))
    slopes = np.zeros(at.size)
    for place in np.flatnonzero(steps):
        shift = np.zeros(at.size)
        shift[place] = steps[place]
        slopes[place] = (law(at + shift) - law(at - shift)) / (2 * steps[place])
    return Found(float(law(at)), math.sqrt(max(0.0, float(slopes @ matrix @ slopes))))


def drawn(
    law: Law,
    values: ArrayLike,
    covariances: ArrayLike,
    count: int = 100_000,
    share: float = 0.95,
    seed: int = 1,
) -> Drawn:
    """The same by Monte Carlo, with normally distributed readings.

    Parameters
    ----------
    law : callable
        From an array of n readings, each a number or an array, to a number or an array.
    count : int
        Draws.
    share : float
        That the interval covers [-].
    seed : int
        The same seed gives the same draws.

    Source
    ------
    JCGM 101:2008, 7; the shortest coverage interval of 5.3.4.
    """
    rng = np.random.default_rng(seed)
    draws = rng.multivariate_normal(
        np.asarray(values, float), np.asarray(covariances, float), count, method="eigh"
    )
    results = np.sort(np.asarray(law(draws.T), float))
    inside = math.ceil(share * count)
    first = int(np.argmin(results[inside:] - results[: count - inside]))
    return Drawn(
        float(results.mean()),
        float(results.std(ddof=1)),
        float(results[first]),
        float(results[first + inside]),
    )


def mean(values: ArrayLike, alone: ArrayLike, shared: ArrayLike, instruments: Sequence[str]) -> Found:
    """Plain mean of readings and its standard uncertainty, never below what their instrument shares."""
    matrix = covariance(alone, shared, instruments)
    at = np.asarray(values, float)
    return Found(float(at.mean()), math.sqrt(float(matrix.sum())) / at.size)


def freedom(contributions: ArrayLike, freedoms: ArrayLike) -> float:
    """Effective degrees of freedom of a combined uncertainty.

    Parameters
    ----------
    contributions : (n,) float
        Each c_i u_i.
    freedoms : (n,) float
        Degrees of freedom of each; infinity where an uncertainty is taken as sure.

    Source
    ------
    Welch and Satterthwaite, JCGM 100:2008, G.4.1; truncate downwards before a table is entered.
    """
    parts = np.asarray(contributions, float)
    below = float((parts**4 / np.asarray(freedoms, float)).sum())
    return math.inf if below == 0 else float((parts**2).sum()) ** 2 / below


def expanded(u: float, freedom: float, share: float = 0.95) -> float:
    """Half width that covers the value with this chance: Student's t of `freedom` (JCGM 100, G.3)."""
    return u * float(student.ppf((1 + share) / 2, math.floor(freedom) if math.isfinite(freedom) else np.inf))
