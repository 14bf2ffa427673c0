"""What coupons say of binder: how far it bleeds, and how much of it the bed holds. All SI."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import curve_fit

from sagger.errors import LawError
from sagger.physics.drops.wetting import equilibrium_saturation
from sagger.physics.sintering import shrinkage

Array = NDArray[np.float64]
STEPS = 800  # saturations tried between the leanest and the richest coupon


class Bleed(NamedTuple):
    """An outline that creeps by `reach` on each side of a piece whose scale is off by `scale`."""

    reach: float  # [m]
    reach_u: float
    scale: float  # [-]
    scale_u: float
    p: float  # chance to see such a reach where there is none


def bleed(nominal: ArrayLike, measured: ArrayLike, sides: int = 2) -> Bleed:
    """Bleed from coupons of several sizes: measured - nominal = sides x reach + scale x nominal.

    Parameters
    ----------
    nominal, measured : (n,) float
        Lengths [m], three coupons or more, of two sizes or more.
    sides : int
        Ends of a length that bleed: 2 in the plane of a layer, 1 in height, where only undersides do.

    Raises
    ------
    LawError
        If there are too few coupons or all are of one size.

    Source
    ------
    Least squares of a straight line; standard errors from its residuals.
    """
    lengths, read = np.asarray(nominal, float), np.asarray(measured, float)
    if lengths.size and np.ptp(lengths) == 0:
        raise LawError("all coupons are of one size; print three sizes or more to tell bleed from scale")
    fit = shrinkage.affine(lengths, read)
    return Bleed(fit.offset / sides, fit.offset_u / sides, fit.ratio - 1, fit.u, fit.p)


class HeldSaturation(NamedTuple):
    """Saturation up to which outlines stay where they are."""

    saturation: float | None  # [-]; None if no coupon was rich enough to show it
    u: float
    reach: float  # bleed of the leaner ones [m]
    scale: float  # [-]
    scatter: float  # standard deviation of the residuals [m]


def held(saturation: ArrayLike, nominal: ArrayLike, measured: ArrayLike) -> HeldSaturation:
    """The saturation that the bed holds, from a ladder of coupons.

    Up to it a length is nominal + 2 reach + scale x nominal. Above it the surplus moves outlines of square
    coupons as `wetting.square_bleed` says, were none to dry or drain.

    Parameters
    ----------
    saturation : (n,) float
        As printed [-].
    nominal, measured : (n,) float
        Lengths of square coupons [m].

    Raises
    ------
    LawError
        If there are fewer than five coupons or two saturations.

    Source
    ------
    Least squares over all saturations between the leanest and the richest; the uncertainty from those whose
    sum of squares is not larger than by one residual variance.
    """
    s, length, read = (np.asarray(column, float) for column in (saturation, nominal, measured))
    if s.size < 5 or np.unique(s).size < 2 or not s.shape == length.shape == read.shape:
        raise LawError("a ladder needs five coupons or more, of two saturations or more")
    tried = np.linspace(s.min(), s.max(), STEPS)
    fits = [_line(s, length, read, level) for level in tried]
    squares = np.array([fit[2] for fit in fits])
    best = int(squares.argmin())
    variance = float(squares[best]) / max(1, s.size - 3)
    near = tried[squares <= squares[best] + variance]
    reach, scale, _ = fits[best]
    seen = squares[-1] > squares[best] + 4 * variance  # two standard deviations: some surplus was seen
    u = max(float(np.ptp(near)) / 2, float(tried[1] - tried[0]) / np.sqrt(12))
    return HeldSaturation(float(tried[best]) if seen else None, u, reach / 2, scale, float(np.sqrt(variance)))


def _line(s: Array, length: Array, read: Array, at: float) -> tuple[float, float, float]:
    """Offset and scale where the bed holds `at`, and the sum of squares they leave."""
    surplus = length * (np.sqrt(np.maximum(1.0, s / at)) - 1)
    table = np.column_stack([np.ones_like(length), length])
    fitted, *_ = np.linalg.lstsq(table, read - length - surplus, rcond=None)
    left = read - length - surplus - table @ fitted
    return float(fitted[0]), float(fitted[1]), float(left @ left)


class Suction(NamedTuple):
    """Constants of `wetting.equilibrium_saturation`, with standard uncertainties."""

    entry: float  # [Pa]
    exponent: float
    residual: float
    entry_u: float
    exponent_u: float
    residual_u: float


def suction(pressure: ArrayLike, saturation: ArrayLike) -> Suction:
    """How a bed holds liquid against suction, from a measured curve.

    Parameters
    ----------
    pressure, saturation : (n,) float
        Suction [Pa] and the saturation left [-], four points or more.

    Raises
    ------
    LawError
        If there are too few points, or no curve of this form goes through them.

    Source
    ------
    Brooks and Corey 1964, least squares.
    """
    p, s = np.asarray(pressure, float), np.asarray(saturation, float)
    if p.size < 4 or p.shape != s.shape or (p <= 0).any():
        raise LawError("four points of suction above 0 and saturation are needed")

    def curve(at: Array, entry: float, exponent: float, residual: float) -> Array:
        return np.array([equilibrium_saturation(pascal, entry, exponent, residual) for pascal in at])

    start = (float(np.quantile(p, 0.3)), 1.0, max(0.0, float(s.min()) / 2))
    bounds = ([float(p.min()) / 10, 0.05, 0.0], [float(p.max()), 20.0, 0.99])
    try:
        constants, spread = curve_fit(curve, p, s, p0=start, bounds=bounds)
    except RuntimeError:
        raise LawError("no suction curve of this form goes through the points; check the table") from None
    u = np.sqrt(np.diag(spread))
    return Suction(*(float(figure) for figure in (*constants, *u)))
