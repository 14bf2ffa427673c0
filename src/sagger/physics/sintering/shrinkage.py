"""How much a body shrinks: mass balance, direction, and what coupons tell."""

from __future__ import annotations

from typing import NamedTuple, TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sagger.errors import LawError

Array = NDArray[np.float64]
Length = TypeVar("Length", float, Array)
STEPS = 50  # of Newton's method at most; seven do for any body
HAIR = 1e-15  # of a length, below which a step is none


def oversize(ratio: float) -> float:
    """Oversize factor k of a sintered over green `ratio` r [-]: 1/r, never 2 - r."""
    return 1 / ratio


def oversize_uncertainty(ratio: Length, u: Length) -> Length:
    """Standard uncertainty of k = 1/r when r has the standard uncertainty `u` [-] (JCGM 100, 5.1.2)."""
    return u / ratio**2


def ratios(green: ArrayLike, sintered: ArrayLike, y: ArrayLike, z: ArrayLike) -> Array:
    """Sintered over green length along x, y and z [-].

    Parameters
    ----------
    green, sintered : float or array (m,)
        Relative density of powder solids, binder excluded [-].
    y, z : float or array (m,)
        Linear shrinkage along y and along z over that along x [-].

    Returns
    -------
    array (3,) or (m, 3)
        Their product is `green / sintered`.

    Raises
    ------
    LawError
        If a density lies outside 0 to 1, or a shrinkage ratio is not above 0.

    Source
    ------
    Conservation of mass: (1 - s)(1 - y s)(1 - z s) = green / sintered, solved for s.
    """
    before, after, along_y, along_z = np.broadcast_arrays(
        *(np.asarray(figures, float) for figures in (green, sintered, y, z))
    )
    wrong = ~((before > 0) & (before <= 1) & (after > 0) & (after <= 1) & (along_y > 0) & (along_z > 0))
    if np.any(wrong):
        worst = ", ".join(f"{figures[wrong][0]:g}" for figures in (before, after, along_y, along_z))
        raise LawError(f"densities must lie in 0 to 1, shrinkage ratios above 0: {worst}")
    weights = np.stack([np.ones_like(before), along_y, along_z], axis=-1)
    return np.asarray(1 - weights * _along_x(weights, before / after)[..., None])


def _along_x(weights: Array, left: Array) -> Array:
    """Shrinkage along x at which the volume `left` [-] remains; Newton's method, which comes from below.

    The product falls and is convex below its first root, so that no step passes the solution.
    """
    s = np.zeros_like(left)
    for _ in range(STEPS):
        sides = 1 - weights * s[..., None]
        volume = np.prod(sides, axis=-1)
        slope = -volume * np.sum(weights / sides, axis=-1)
        step = (volume - left) / slope
        s = s - step
        if np.all(np.abs(step) <= HAIR):
            break
    return s


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


def own_oversize(green: Array, reference: float) -> Array:
    """Oversize where the bed is packed to `green`, over the oversize that holds at `reference` density [-].

    Source
    ------
    ds/drho = -(1 - s)/(3 rho), integrated: conservation of mass with the same end density everywhere, and the
    same share of the change along each axis.
    """
    return np.asarray(np.cbrt(reference / green))


class RatioFit(NamedTuple):
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


def through_origin(green: ArrayLike, sintered: ArrayLike) -> RatioFit:
    """Ratio from coupons of even scatter: least squares through the origin, and its standard error."""
    g, s = _pairs(green, sintered)
    r = float(np.sum(g * s) / np.sum(g * g))
    left = float(np.sum((s - r * g) ** 2))
    return RatioFit(r, float(np.sqrt(left / (g.size - 1) / np.sum(g * g))))


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
