"""How far spans and overhangs have sunk once they are sintered, whatever the furnace programme: closed form.

Beams of rectangular section under their own weight; small against length and height. Time drops out of the
rates because density and sag creep along together: d density / dt = k (1 - density), see `densify.densified`.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sagger.errors import LawError

Array = NDArray[np.float64]


class Beam(NamedTuple):
    """A level bar of rectangular section: free length and height [m]."""

    length: float
    height: float


def shear_coefficient(poisson: float) -> float:
    """Cowper's coefficient of a rectangular section [-]."""
    return 10 * (1 + poisson) / (12 + 11 * poisson)


class Hold(NamedTuple):
    """How a beam is held: its sag is `bending` w L^4 / (E h^2) + `shear` w L^2 / (kappa G)."""

    bending: float
    shear: float


ON_ENDS = Hold(5 / 32, 1 / 8)  # lies on its two ends
CLAMPED = Hold(1 / 32, 1 / 8)  # both ends built in
OVERHANG = Hold(3 / 2, 1 / 2)  # one end built in, at the free end
PROPPED = Hold(12 / 184.6, 1 / 8)  # one end built in, the other resting: w L^4 / (185 E I) in handbooks


class Yielding(NamedTuple):
    """What the firing does to any beam of a powder: sag / length is c L^2 ... with these two."""

    bending: float  # of bending x L^3 / h^2, L and h at green size [1/m]
    shear: float  # of shear x L [1/m]


def yielding(start: float, end: float, weight: float, softness: float) -> Yielding:
    """How much a powder gives way under its own weight while it sinters from one density to another.

    Parameters
    ----------
    start, end : float
        Relative density before and after [-].
    weight : float
        Of the dense solid per volume, rho_th x g [N/m3].
    softness : float
        Capillary radius over surface energy, r / alpha [m2/N].

    Returns
    -------
    Yielding
        Sag over length after sintering is `hold.bending * bending * L**3 / h**2 + hold.shear * shear * L`.

    Raises
    ------
    LawError
        If the density does not rise within 1/3 to 1.

    Source
    ------
    Derived from the viscous moduli of `solid.law` with d density / dt = k (1 - density); `bending` includes
    what densification takes back, `straightening`.
    """
    if not 1 / 3 <= start <= end < 1:
        raise LawError(f"density must rise within 1/3 to 1, got {start:g} to {end:g}")
    scale = weight * softness * 4 / 9
    bending = scale / 12 * _summed(_bending, start, end) * straightening(start, end)
    return Yielding(bending, scale * _summed(_shear, start, end))


class BarSag(NamedTuple):
    """Sag over length of a bar after sintering [-]: by bending, by shear, and in all."""

    bending: float
    shear: float
    total: float


def sag_after_sintering(
    start: float, end: float, beam: Beam, weight: float, softness: float, hold: Hold = ON_ENDS
) -> BarSag:
    """Sag over length that a bar has after sintering.

    Parameters
    ----------
    start, end, weight, softness : float
        As in `yielding`.
    beam : Beam
        At green size [m].
    hold : Hold
    """
    soft = yielding(start, end, weight, softness)
    bending = hold.bending * soft.bending * beam.length**3 / beam.height**2
    shear = hold.shear * soft.shear * beam.length
    return BarSag(bending, shear, bending + shear)


def _summed(slope: object, start: float, end: float) -> float:
    from scipy.integrate import quad

    return float(quad(slope, start, end, args=(start,), epsabs=0, epsrel=1e-10)[0])


def _bending(density: float, start: float) -> float:
    return float((start / density) ** (1 / 3) * (3 * density + 1) / (density**2 * (1 - density)))


def _shear(density: float, start: float) -> float:
    poisson = (3 * density - 1) / (3 * density + 1)
    return float((start / density) ** (1 / 3) / (shear_coefficient(poisson) * density * (1 - density)))


def straightening(start: float, end: float) -> float:
    """Bending sag with the spread of density through the height, over that without [-].

    The stretched side densifies later and then shrinks more, which bends the bar back a little.

    Source
    ------
    Derived, first order in stress over sintering stress: with decay tau, spread q and curvature c,
    dq/dtau = -q - s (1 - density) / density^2 and
    dc/dtau = s (3 density + 1) / (3 density^3) + q / (3 density^2), s proportional to density^(2/3).
    """
    from scipy.integrate import solve_ivp

    if start == end:
        return 1.0

    def slope(density: float, state: Array) -> list[float]:
        spread, stress, pace = state[0], density ** (2 / 3), 1 / (1 - density)
        plain = stress * (3 * density + 1) / (3 * density**3)
        return [
            pace * (-spread - stress * (1 - density) / density**2),
            pace * plain,
            pace * (plain + spread / (3 * density**2)),
        ]

    path = solve_ivp(slope, (start, end), [0.0, 0.0, 0.0], method="DOP853", rtol=1e-10, atol=1e-14)
    return float(path.y[2, -1] / path.y[1, -1])


def along_span(share: ArrayLike) -> Array:
    """Sag at a share of the length of a beam with both ends built in, over that in the middle [-]."""
    x = np.asarray(share, float)
    return np.asarray(16 * x**2 * (1 - x) ** 2)


def along_overhang(share: ArrayLike) -> Array:
    """Sag at a share of the length of an overhang, over that at its free end [-]."""
    x = np.asarray(share, float)
    return np.asarray(x**2 * (x**2 - 4 * x + 6) / 3)
