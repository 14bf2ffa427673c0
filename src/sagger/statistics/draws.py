"""Draws of what is not known: one row for each world that could be, one column for each source of doubt."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import expit, logit, ndtri
from scipy.stats import qmc

from sagger.errors import LawError

Array = NDArray[np.float64]
SURE = 0.95  # of a coverage interval (JCGM 101:2008, 7.7)
WIDTH = 64  # columns made at least, so that one more source leaves the draws of the others as they were
EDGE = 1e-12  # so that no draw is infinitely far out


def normal(count: int, sources: int, seed: int) -> Array:
    """Independent standard normal draws, array (count, sources).

    Parameters
    ----------
    count : int
        Rows; a power of two fills space most evenly.
    sources : int
        Columns.
    seed : int
        The same seed gives the same draws; with up to 64 sources, column i is the same however many follow.

    Returns
    -------
    array
        Its rows stand in random order: a row may be paired with the same row of draws of other sources.

    Source
    ------
    Sobol sequence with Owen's scrambling (scipy.stats.qmc); JCGM 101:2008, 6.4.7 for the normal deviates.
    """
    if count < 1 or sources < 1:
        raise LawError(f"draws need a row and a column at least, got {count} and {sources}")
    sequence = qmc.Sobol(max(sources, WIDTH), rng=np.random.default_rng(seed))
    even = sequence.random_base2((count - 1).bit_length())[:count, :sources]
    mixed = np.random.default_rng((seed, count)).permutation(count)
    return np.asarray(ndtri(np.clip(even[mixed], EDGE, 1 - EDGE)))


def positive(deviates: ArrayLike, middle: float, u: float) -> Array:
    """A quantity that cannot be negative: lognormal with median `middle` and standard uncertainty `u`.

    Parameters
    ----------
    deviates : array
        Standard normal draws.
    middle, u : float
        In the unit of the quantity.
    """
    if middle <= 0 or u < 0:
        raise LawError(f"a positive quantity and its u were expected, got {middle:g} and {u:g}")
    return np.asarray(middle * np.exp(np.asarray(deviates) * np.sqrt(np.log1p((u / middle) ** 2))))


def share(deviates: ArrayLike, middle: float, u: float) -> Array:
    """A share of a whole, never below 0 nor above 1: normal in its log odds, median `middle`.

    Parameters
    ----------
    deviates : array
        Standard normal draws.
    middle, u : float
        Between 0 and 1; `u` is met to first order, near an end the far side is the longer one.
    """
    if not 0 < middle < 1 or u < 0:
        raise LawError(f"a share lies between 0 and 1, got {middle:g} with u {u:g}")
    return np.asarray(expit(logit(middle) + np.asarray(deviates) * u / (middle * (1 - middle))))


def interval(draws: ArrayLike, coverage: float = SURE) -> tuple[float, float]:
    """Ends of the interval that leaves as many draws above it as below.

    Parameters
    ----------
    draws : array (m,)
    coverage : float
        Share of draws inside.

    Source
    ------
    Probabilistically symmetric coverage interval, JCGM 101:2008, 7.7.2.
    """
    rest = (1 - coverage) / 2
    low, high = np.quantile(np.asarray(draws, float), (rest, 1 - rest))
    return float(low), float(high)
