"""How a body at sintering heat gives way under its own weight: viscous moduli and what beams do, closed form.

Signs: tension, expansion and rates outward count positive. `weight` is weight per volume, density x rho_th
x g [N/m3]. The laws hold while deflections stay small against length and height.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from sagger.errors import LawError
from sagger.physics.densify import sintering_stress

Array = NDArray[np.float64]


class Moduli(NamedTuple):
    """Viscous stand-ins for elastic moduli [Pa.s], and the viscous Poisson's ratio [-]."""

    shear: float
    bulk: float
    young: float
    poisson: float


def moduli(density: float, viscosity: float) -> Moduli:
    """Viscous moduli of a porous body.

    Parameters
    ----------
    density : float
        Relative density, between 1/3 (below it the ratio of Poisson would be negative) and 1 [-].
    viscosity : float
        Shear viscosity of the dense skeleton [Pa.s].

    Raises
    ------
    LawError
        If `density` lies outside 1/3 to 1; at 1 the body does not compress.

    Source
    ------
    Lester, SAND2017-12933R, equations 1 to 3: phi = density^2, psi = (2/3) density^3 / (1 - density), shear
    modulus viscosity phi, bulk modulus 2 viscosity psi. Young's modulus and Poisson's ratio follow, derived:
    12 viscosity density^3 / (3 density + 1) and (3 density - 1) / (3 density + 1).
    """
    if not 1 / 3 <= density < 1:
        raise LawError(f"density must lie between 1/3 and 1, got {density:g}")
    shear = viscosity * density**2
    bulk = viscosity * 4 / 3 * density**3 / (1 - density)
    young = 12 * viscosity * density**3 / (3 * density + 1)
    return Moduli(shear, bulk, young, (3 * density - 1) / (3 * density + 1))


class Beam(NamedTuple):
    """A level bar of rectangular section: free length and height [m]."""

    length: float
    height: float


class SagRate(NamedTuple):
    """Speed of the lowest point, downward [m/s]: by bending, by shear, and in all."""

    bending: float
    shear: float
    total: float


def sag_rate_on_ends(beam: Beam, body: Moduli, weight: float) -> SagRate:
    """Sag rate in the middle of a bar that lies on its two ends.

    Source
    ------
    Timoshenko beam, elastic-viscous analogy: (5/32) w L^4 / (E h^2) + w L^2 / (8 kappa G).
    """
    return _sag_rate(5 / 32, 1 / 8, beam, body, weight)


def sag_rate_clamped(beam: Beam, body: Moduli, weight: float) -> SagRate:
    """Sag rate in the middle of a bar with clamped ends: (1/32) w L^4 / (E h^2) + w L^2 / (8 kappa G)."""
    return _sag_rate(1 / 32, 1 / 8, beam, body, weight)


def sag_rate_overhang(beam: Beam, body: Moduli, weight: float) -> SagRate:
    """Sag rate at the free end of an overhang: (3/2) w L^4 / (E h^2) + w L^2 / (2 kappa G)."""
    return _sag_rate(3 / 2, 1 / 2, beam, body, weight)


def _sag_rate(bending: float, shear: float, beam: Beam, body: Moduli, weight: float) -> SagRate:
    length, height = beam
    bent = bending * weight * length**4 / (body.young * height**2)
    sheared = shear * weight * length**2 / (_shear_coefficient(body.poisson) * body.shear)
    return SagRate(bent, sheared, bent + sheared)


def _shear_coefficient(poisson: float) -> float:
    """Cowper's coefficient of a rectangular section [-]."""
    return 10 * (1 + poisson) / (12 + 11 * poisson)


class Sag(NamedTuple):
    """Sag over length of a bar on its two ends after sintering [-]: by bending, by shear, and in all."""

    bending: float
    shear: float
    total: float


def sag_after_sintering(start: float, end: float, beam: Beam, weight: float, softness: float) -> Sag:
    """Sag over length that a bar on its two ends has after sintering, whatever the furnace programme.

    Parameters
    ----------
    start, end : float
        Relative density before and after [-].
    beam : Beam
        At green size [m].
    weight : float
        Of the dense solid per volume, rho_th x g [N/m3].
    softness : float
        Capillary radius over surface energy, r / alpha [m2/N].

    Returns
    -------
    Sag
        `bending` includes what densification takes back (the stretched side lags and then shrinks more).

    Source
    ------
    Derived: time drops out of `sag_rate_on_ends` with d density / dt = k (1 - density), see `densify.speed`.
    """
    if not 1 / 3 <= start <= end < 1:
        raise LawError(f"density must rise within 1/3 to 1, got {start:g} to {end:g}")
    length, height = beam
    scale = weight * softness * 4 / 9
    bending = 5 / 32 / 12 * scale * length**3 / height**2 * _summed(_bending, start, end)
    shear = scale * length / 8 * _summed(_shear, start, end)
    bending *= straightening(start, end)
    return Sag(bending, shear, bending + shear)


def _summed(slope: object, start: float, end: float) -> float:
    from scipy.integrate import quad

    return float(quad(slope, start, end, args=(start,), epsabs=0, epsrel=1e-10)[0])


def _bending(density: float, start: float) -> float:
    return float((start / density) ** (1 / 3) * (3 * density + 1) / (density**2 * (1 - density)))


def _shear(density: float, start: float) -> float:
    poisson = (3 * density - 1) / (3 * density + 1)
    return float((start / density) ** (1 / 3) / (_shear_coefficient(poisson) * density * (1 - density)))


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


def stress_held_ends(density: float, sintering_stress: float) -> float:
    """Axial tension in a bar whose ends cannot follow its shrinkage [Pa]: (1 - 2 nu) P_L, derived."""
    return 3 * (1 - density) / (3 * density + 1) * sintering_stress


class FilmRates(NamedTuple):
    """A thin layer on a rigid base: its rates over those of a free body [-], and its tension over P_L [-]."""

    densification: float
    thickness: float
    tension: float


def film(density: float) -> FilmRates:
    """What a rigid base does to a thin layer on it, derived: densifies at density times the free rate."""
    return FilmRates(density, 3 * density, 1.5 * (1 - density))


def film_density(start: float, decay: float) -> float:
    """Relative density of a thin layer on a rigid base [-]; `decay` as in `densify.densified`.

    Source
    ------
    Derived: logit(density) = logit(start) + decay.
    """
    odds = start / (1 - start) * np.exp(decay)
    return float(odds / (1 + odds))


class ForgeRates(NamedTuple):
    """Rates of strain along the load and across it, and of relative density [1/s]."""

    along: float
    across: float
    density: float


def forged(
    density: float, stress: float, viscosity: float, surface_energy: float, radius: float
) -> ForgeRates:
    """Rates in a body that sinters under uniaxial stress, tension positive [1/s].

    Source
    ------
    Derived from the law of `moduli`: free strain rate -P_L / (3 K), plus stress / E along, -nu stress / E
    across.
    """
    body = moduli(density, viscosity)
    free = -sintering_stress(density, surface_energy, radius) / (3 * body.bulk)
    along = free + stress / body.young
    across = free - body.poisson * stress / body.young
    return ForgeRates(along, across, -density * (along + 2 * across))


def stress_without_spreading(density: float, sintering_stress: float) -> float:
    """Pressure at which a body no longer shrinks across the load [Pa]: 3 (1 - rho) / (3 rho - 1) P_L."""
    return 3 * (1 - density) / (3 * density - 1) * sintering_stress


def height_of_foot(density: float, weight_solid: float, surface_energy: float, radius: float) -> float:
    """Height of a column whose foot no longer shrinks across, without friction [m].

    Parameters
    ----------
    density : float
        Relative density [-].
    weight_solid : float
        Of the dense solid per volume, rho_th x g [N/m3].
    surface_energy, radius : float
        alpha [J/m2], capillary radius [m].

    Source
    ------
    `stress_without_spreading` set equal to the weight above the foot.
    """
    held = stress_without_spreading(density, sintering_stress(density, surface_energy, radius))
    return held / (density * weight_solid)


def drag_on_setter(length: float, friction: float, body: Moduli, weight: float) -> float:
    """Speed by which friction holds back each end of a bar that slides on its setter [m/s].

    Source
    ------
    Derived: axial tension friction w (L/2 - |x|), whatever the height; its stretch at the end is
    friction w L^2 / (8 E).
    """
    return friction * weight * length**2 / (8 * body.young)


def curling(height: float, stiffness: float, apart: float) -> float:
    """Rate of curvature of two bonded layers of equal height [1/m.s].

    Parameters
    ----------
    height : float
        Of both layers together [m].
    stiffness : float
        Young's modulus of one over that of the other [-].
    apart : float
        Difference of their free linear strain rates [1/s].

    Source
    ------
    Timoshenko's bimetal strip, elastic-viscous analogy: 24 apart / (h (14 + n + 1/n)).
    """
    return 24 * apart / (height * (14 + stiffness + 1 / stiffness))
