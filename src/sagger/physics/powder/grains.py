"""Sizes of grains: curves, percentiles, means, and the two usual distributions. All SI."""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, log, sqrt
from typing import NamedTuple

import numpy as np
from scipy.special import ndtri

from sagger.errors import LawError

Curve = tuple[np.ndarray, np.ndarray]  # sizes [m] rising, mass share finer [-] rising
NORMAL_90 = float(ndtri(0.9))


def passing(openings: Sequence[float], retained: Sequence[float]) -> Curve:
    """Cumulative curve of a sieving: openings from fine to coarse [m], and mass share that passes [-].

    Parameters
    ----------
    openings : (n,) float
        Of the sieves, in any order [m].
    retained : (n,) float or (n + 1,) float
        Mass or percentage that stays on each, in the same order; one more for the pan if there was any.

    Raises
    ------
    LawError
        If lengths do not fit or nothing was retained.

    Source
    ------
    ISO 9276-1: cumulative distribution by mass, normalised to what was weighed.
    """
    sizes = np.asarray(openings, dtype=float)
    mass = np.asarray(retained, dtype=float)
    if len(mass) not in (len(sizes), len(sizes) + 1) or mass.sum() <= 0 or (mass < 0).any():
        raise LawError(f"{len(sizes)} sieves need as many masses, and one more for a pan; got {len(mass)}")
    order = np.argsort(sizes)
    pan = mass[len(sizes) :].sum()
    finer = pan + np.concatenate([[0.0], np.cumsum(mass[: len(sizes)][order])[:-1]])
    return sizes[order], finer / mass.sum()


def percentile(sizes: Sequence[float], finer: Sequence[float], share: float) -> float:
    """Size below which a share of the mass lies [m].

    Parameters
    ----------
    sizes, finer : (n,) float
        Cumulative curve: sizes rising [m], mass share finer [-].
    share : float
        0.1, 0.5, 0.9 for d10, d50, d90.

    Raises
    ------
    LawError
        If the curve does not reach that share.

    Source
    ------
    Linear in the share against the logarithm of size; linear in size differs by 1 to 3 um on sieves.
    """
    low, high = float(np.min(finer)), float(np.max(finer))
    if not low <= share <= high:
        raise LawError(f"the curve runs from {low:.3g} to {high:.3g}, it says nothing at {share:g}")
    return float(np.exp(np.interp(share, finer, np.log(sizes))))


def span(d10: float, d50: float, d90: float) -> float:
    """Width of a distribution, (d90 - d10) / d50 [-]. Source: definition."""
    return (d90 - d10) / d50


def mean_diameter(sizes: Sequence[float], shares: Sequence[float], p: int, q: int, by: int = 3) -> float:
    """Mean diameter D[p, q] of classes [m]; D[3, 2] is Sauter's, D[4, 3] the volume-weighted mean.

    Parameters
    ----------
    sizes : (n,) float
        One per class [m].
    shares : (n,) float
        Of each class, in any unit: numbers if `by` is 0, volume or mass if it is 3.
    p, q : int
        Orders, p > q.

    Source
    ------
    ISO 9276-2, moments of the number distribution (memory).
    """
    x = np.asarray(sizes, dtype=float)
    numbers = np.asarray(shares, dtype=float) / x**by
    over, under = (numbers * x**p).sum(), (numbers * x**q).sum()
    return float((over / under) ** (1 / (p - q)))


def class_sizes(edges: Sequence[float]) -> list[float]:
    """Geometric mean size of each class between two sizes [m], from fine to coarse; `edges` rise [m]."""
    ends = np.asarray(edges, dtype=float)
    middle: list[float] = np.sqrt(ends[:-1] * ends[1:]).tolist()
    return middle


class Lognormal(NamedTuple):
    """A lognormal distribution by volume."""

    sigma: float  # standard deviation of ln size
    spread: float  # geometric standard deviation
    median: float  # by volume [m]
    volume_mean: float  # D[4,3] [m]
    sauter: float  # D[3,2] [m]
    count_median: float  # by number [m]


def lognormal(d10: float, d90: float, d50: float | None = None) -> Lognormal:
    """The lognormal distribution through d10 and d90.

    Parameters
    ----------
    d10, d90 : float
        By volume or mass [m].
    d50 : float, optional
        Measured median [m]; otherwise the geometric mean of the two.

    Raises
    ------
    LawError
        If 0 < d10 < d90 does not hold.

    Source
    ------
    Hatch and Choate, J. Franklin Inst. 207 (1929) 369 (memory).
    """
    if not 0 < d10 < d90:
        raise LawError(f"0 < d10 < d90 is needed, got {d10:g} m and {d90:g} m; check the powder card")
    sigma = log(d90 / d10) / (2 * NORMAL_90)
    median = d50 if d50 is not None else sqrt(d10 * d90)
    return Lognormal(
        sigma=sigma,
        spread=exp(sigma),
        median=median,
        volume_mean=median * exp(sigma**2 / 2),
        sauter=median * exp(-(sigma**2) / 2),
        count_median=median * exp(-3 * sigma**2),
    )


def blended(curves: Sequence[Curve], masses: Sequence[float]) -> Curve:
    """Cumulative curve of a mixture of powders; percentiles are never averaged.

    Parameters
    ----------
    curves : sequence of (sizes, finer)
        One cumulative curve per powder [m], [-].
    masses : sequence of float
        Of each, in any unit.

    Source
    ------
    Mass balance: Q of the mixture is the mass-weighted mean of Q, on all sizes that occur.
    """
    sizes = np.unique(np.concatenate([np.asarray(curve[0], dtype=float) for curve in curves]))
    finer = [np.interp(np.log(sizes), np.log(x), share, left=0.0, right=1.0) for x, share in curves]
    return sizes, np.average(finer, axis=0, weights=masses)


def fineness_number(retained: Sequence[float], multipliers: Sequence[float]) -> float:
    """AFS grain fineness number of a sand [-].

    Parameters
    ----------
    retained : (n,) float
        Percentage on each sieve and in the pan, clay removed.
    multipliers : (n,) float
        The AFS multiplier of each sieve, in the same order.

    Source
    ------
    American Foundry Society: mean of the multipliers weighted by what each sieve retains. Different
    curves can share one number, so keep the curve.
    """
    mass, weights = np.asarray(retained, dtype=float), np.asarray(multipliers, dtype=float)
    if mass.sum() <= 0:
        raise LawError("nothing was retained on any sieve")
    return float((mass * weights).sum() / mass.sum())


def layer_verdict(layer: float, d50: float, d90: float) -> str:
    """Whether grains fit a layer: "fits", "thin" (under 2 d50) or "streaks" (under d90).

    Source: common practice, no source.
    """
    if layer < d90:
        return "streaks"
    return "thin" if layer < 2 * d50 else "fits"
