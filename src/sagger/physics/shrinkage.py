"""How much a body shrinks: mass balance, direction, and what coupons tell."""

from __future__ import annotations

from typing import NamedTuple, TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import brentq

from sagger.errors import LawError

Array = NDArray[np.float64]
Length = TypeVar("Length", float, Array)


def ratio(green: float, sintered: float, lost: float = 0.0) -> float:
    """Sintered over green length of a body that shrinks alike in all directions [-].

    Parameters
    ----------
    green, sintered : float
        Density before and after, both relative [-] or both in kg/m3.
    lost : float
        Share of the green mass that leaves (binder, if `green` includes it) [-].

    Raises
    ------
    LawError
        If a density is not positive, or `lost` lies outside 0 to 1.

    Source
    ------
    Conservation of mass.
    """
    if green <= 0 or sintered <= 0 or not 0 <= lost < 1:
        raise LawError(
            f"densities must be positive, the lost share below 1: {green:g}, {sintered:g}, {lost:g}"
        )
    return float((green * (1 - lost) / sintered) ** (1 / 3))


def oversize(ratio: float) -> float:
    """Oversize factor k of a sintered over green `ratio` r [-]: 1/r, never 2 - r."""
    return 1 / ratio


def oversize_uncertainty(ratio: Length, u: Length) -> Length:
    """Standard uncertainty of k = 1/r when r has the standard uncertainty `u` [-] (JCGM 100, 5.1.2)."""
    return u / ratio**2


def third_ratio(green: float, sintered: float, lost: float, first: float, second: float) -> float:
    """Sintered over green length along the third axis when two are known [-], by conservation of mass."""
    return green * (1 - lost) / (sintered * first * second)


def ratios(green: float, sintered: float, y: float, z: float) -> Array:
    """Sintered over green length along x, y and z [-].

    Parameters
    ----------
    green, sintered : float
        Relative density of powder solids, binder excluded [-].
    y, z : float
        Linear shrinkage along y and along z over that along x [-].

    Returns
    -------
    array (3,)
        Their product is `green / sintered`.

    Raises
    ------
    LawError
        If a density lies outside 0 to 1, or shrinkage along one axis would take the whole length.

    Source
    ------
    Conservation of mass: (1 - s)(1 - y s)(1 - z s) = green / sintered, solved for s.
    """
    if not (0 < green <= 1 and 0 < sintered <= 1 and y > 0 and z > 0):
        raise LawError(
            f"densities must lie in 0 to 1, shrinkage ratios above 0: {green:g}, {sintered:g}, {y:g}, {z:g}"
        )
    weights = np.array([1.0, y, z])

    def excess(s: float) -> float:
        return float(np.prod(1 - weights * s) - green / sintered)

    if green == sintered:
        return np.ones(3)
    least = -10.0 if green > sintered else 0.0  # a body may also grow
    most = 1 / weights.max()
    return np.asarray(1 - weights * brentq(excess, least, most, xtol=1e-15, rtol=1e-15))


def sensitivities(green: float, sintered: float, y: float, z: float) -> Array:
    """Derivatives of `ratios` (rows x, y, z) by green, sintered, y and z (columns) [-].

    Source
    ------
    Implicit differentiation of the mass balance in `ratios`.
    """
    weights = np.array([1.0, y, z])
    along = ratios(green, sintered, y, z)
    shrinkage = 1 - along[0]
    total = float(np.sum(weights / along))
    by = (
        np.array([-1 / green, 1 / sintered, -shrinkage / along[1], -shrinkage / along[2]]) / total
    )  # of the shrinkage along x
    table = -np.outer(weights, by)
    table[1, 2] -= shrinkage
    table[2, 3] -= shrinkage
    return table


def volume_shrinkage(green: float, sintered: float) -> float:
    """Share of the green volume that is gone after sintering [-], by conservation of mass."""
    return 1 - green / sintered


def own_oversize(green: Array, reference: float) -> Array:
    """Oversize where the bed is packed to `green`, over the oversize that holds at `reference` density [-].

    Source
    ------
    ds/drho = -(1 - s)/(3 rho), integrated: conservation of mass with the same end density everywhere, and the
    same share of the change along each axis.
    """
    return np.asarray(np.cbrt(reference / green))


class Fit(NamedTuple):
    """A ratio from coupons and its standard uncertainty."""

    ratio: float
    u: float


def _pairs(green: ArrayLike, sintered: ArrayLike) -> tuple[Array, Array]:
    g, s = np.asarray(green, float), np.asarray(sintered, float)
    if g.shape != s.shape or g.ndim != 1 or g.size < 2:
        raise LawError(f"at least two pairs of lengths are needed, got {g.shape} and {s.shape}")
    if np.any(g <= 0) or np.any(s <= 0):
        raise LawError("lengths of coupons must be positive")
    return g, s


def mean_of_ratios(green: ArrayLike, sintered: ArrayLike) -> Fit:
    """Ratio from coupons whose scatter grows with length: mean of s/g, and its standard error."""
    g, s = _pairs(green, sintered)
    each = s / g
    return Fit(float(each.mean()), float(each.std(ddof=1) / np.sqrt(g.size)))


def ratio_of_sums(green: ArrayLike, sintered: ArrayLike) -> Fit:
    """Ratio from coupons whose variance grows with length: sum of s over sum of g, and standard error."""
    g, s = _pairs(green, sintered)
    r = float(s.sum() / g.sum())
    weighted = float(np.sum((s - r * g) ** 2 / g)) / (g.size - 1)
    return Fit(r, float(np.sqrt(weighted / g.sum())))


def through_origin(green: ArrayLike, sintered: ArrayLike) -> Fit:
    """Ratio from coupons of even scatter: least squares through the origin, and its standard error."""
    g, s = _pairs(green, sintered)
    r = float(np.sum(g * s) / np.sum(g * g))
    left = float(np.sum((s - r * g) ** 2))
    return Fit(r, float(np.sqrt(left / (g.size - 1) / np.sum(g * g))))


class WeightedFit(NamedTuple):
    """A weighted ratio, its uncertainty, and what the scatter says of the weights."""

    ratio: float
    u: float
    chi2: float
    birge: float


def weighted(green: ArrayLike, sintered: ArrayLike, reading: float, relative: float) -> WeightedFit:
    """Ratio from coupons with a known reading error and a known scatter in proportion to length.

    Parameters
    ----------
    green, sintered : array (n,)
        Lengths, in any one unit.
    reading : float
        Standard uncertainty of a reading, in that unit.
    relative : float
        Part-to-part standard deviation of a length, relative [-].

    Returns
    -------
    WeightedFit
        `birge` = sqrt(chi2 / (n - 1)); well above 1 says that the stated scatter is too small.

    Source
    ------
    Weighted least squares through the origin, weights 1 / (reading^2 + (relative g)^2).
    """
    g, s = _pairs(green, sintered)
    w = 1 / (reading**2 + (relative * g) ** 2)
    r = float(np.sum(w * g * s) / np.sum(w * g * g))
    chi2 = float(np.sum(w * (s - r * g) ** 2))
    return WeightedFit(r, float(1 / np.sqrt(np.sum(w * g * g))), chi2, float(np.sqrt(chi2 / (g.size - 1))))


class AffineFit(NamedTuple):
    """A ratio with an offset (binder bleed, edge powder), standard errors, and the offset's p-value."""

    offset: float
    offset_u: float
    ratio: float
    u: float
    t: float
    p: float


def affine(green: ArrayLike, sintered: ArrayLike) -> AffineFit:
    """Ratio and offset, s = offset + ratio g, by least squares; keep the offset only if p is small."""
    from scipy.stats import t as student

    g, s = _pairs(green, sintered)
    free = g.size - 2
    if free < 1:
        raise LawError(f"a ratio with an offset needs three coupons, got {g.size}")
    spread = float(np.sum((g - g.mean()) ** 2))
    r = float(np.sum((g - g.mean()) * (s - s.mean())) / spread)
    a = float(s.mean() - r * g.mean())
    variance = float(np.sum((s - a - r * g) ** 2)) / free
    u_a = float(np.sqrt(variance * (1 / g.size + g.mean() ** 2 / spread)))
    t = a / u_a
    return AffineFit(a, u_a, r, float(np.sqrt(variance / spread)), t, float(2 * student.sf(abs(t), free)))
