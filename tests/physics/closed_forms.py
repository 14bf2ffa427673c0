"""Closed forms that the finite elements of sintering and the law of densification are held against.

Not of the program: what a porous viscous body does where it can be worked by hand. Equations of Olevsky,
Mater. Sci. Eng. R 23 (1998) 41, with the functions of density of Lester, SAND2017-12933R (2017), and what
follows from them; beams by the elastic-viscous analogy. Tension, expansion and rates outward count positive;
SI. `weight` is weight per volume [N/m3].
"""

import math
from typing import NamedTuple

import numpy as np
from scipy.constants import R
from scipy.integrate import solve_ivp

from sagger.physics.sintering.sag import Beam, shear_coefficient


def viscosity(temperature: float, factor: float, energy: float) -> float:
    """Shear viscosity of the dense skeleton, factor T exp(Q/RT) [Pa.s].

    Parameters
    ----------
    temperature : float
        [K]
    factor : float
        [Pa.s/K]
    energy : float
        Activation energy Q [J/mol].
    """
    return factor * temperature * math.exp(energy / (R * temperature))


def sintering_stress(density: float, surface_energy: float, radius: float) -> float:
    """Stress by which surface tension contracts the body, (3 alpha / r) density^2 [Pa].

    Source
    ------
    Olevsky, Mater. Sci. Eng. R 23 (1998) 41; functions of density of Lester, SAND2017-12933R, table 1.
    """
    return 3 * surface_energy / radius * density**2


def speed(viscosity: float, surface_energy: float, radius: float) -> float:
    """Rate k at which porosity decays in free sintering, 9 alpha / (4 viscosity radius) [1/s]."""
    return 9 * surface_energy / (4 * viscosity * radius)


def rate_under_stress(
    density: float, stress: float, viscosity: float, surface_energy: float, radius: float
) -> float:
    """Rate of relative density under uniaxial stress, tension positive [1/s].

    Source
    ------
    Derived from the law in `densified`: (1 - density) (k - stress / (4 viscosity density^2)).
    """
    free = speed(viscosity, surface_energy, radius)
    return (1 - density) * (free - stress / (4 * viscosity * density**2))


def density_under_stress(
    start: float, fluidity_time: float, stress: float, surface_energy: float, radius: float
) -> float:
    """Relative density after sintering under constant uniaxial stress [-].

    Parameters
    ----------
    start : float
        Relative density before [-].
    fluidity_time : float
        Integral of 1 / viscosity over time [1/Pa].
    stress : float
        Tension positive [Pa].
    surface_energy, radius : float
        alpha [J/m2], capillary radius r [m].
    """

    def slope(_: float, density: np.ndarray) -> list[float]:
        return [rate_under_stress(float(density[0]), stress, 1.0, surface_energy, radius)]

    path = solve_ivp(slope, (0.0, fluidity_time), [start], method="DOP853", rtol=1e-10, atol=1e-12)
    return float(path.y[0, -1])


class ViscousModuli(NamedTuple):
    """Viscous stand-ins for elastic moduli [Pa.s], and the viscous Poisson's ratio [-]."""

    shear: float
    bulk: float
    young: float
    poisson: float


def moduli(density: float, viscosity: float) -> ViscousModuli:
    """Viscous moduli of a porous body.

    Parameters
    ----------
    density : float
        Relative density, between 1/3 (below it the ratio of Poisson would be negative) and 1 [-].
    viscosity : float
        Shear viscosity of the dense skeleton [Pa.s].

    Source
    ------
    Lester, SAND2017-12933R, equations 1 to 3: phi = density^2, psi = (2/3) density^3 / (1 - density), shear
    modulus viscosity phi, bulk modulus 2 viscosity psi. Young's modulus and Poisson's ratio follow, derived:
    12 viscosity density^3 / (3 density + 1) and (3 density - 1) / (3 density + 1).
    """
    shear = viscosity * density**2
    bulk = viscosity * 4 / 3 * density**3 / (1 - density)
    young = 12 * viscosity * density**3 / (3 * density + 1)
    return ViscousModuli(shear, bulk, young, (3 * density - 1) / (3 * density + 1))


class SagRate(NamedTuple):
    """Speed of the lowest point, downward [m/s]: by bending, by shear, and in all."""

    bending: float
    shear: float
    total: float


def sag_rate_on_ends(beam: Beam, body: ViscousModuli, weight: float) -> SagRate:
    """Sag rate in the middle of a bar that lies on its two ends.

    Source
    ------
    Timoshenko beam, elastic-viscous analogy: (5/32) w L^4 / (E h^2) + w L^2 / (8 kappa G).
    """
    return _sag_rate(5 / 32, 1 / 8, beam, body, weight)


def sag_rate_clamped(beam: Beam, body: ViscousModuli, weight: float) -> SagRate:
    """Sag rate in the middle of a bar with clamped ends: (1/32) w L^4 / (E h^2) + w L^2 / (8 kappa G)."""
    return _sag_rate(1 / 32, 1 / 8, beam, body, weight)


def sag_rate_overhang(beam: Beam, body: ViscousModuli, weight: float) -> SagRate:
    """Sag rate at the free end of an overhang: (3/2) w L^4 / (E h^2) + w L^2 / (2 kappa G)."""
    return _sag_rate(3 / 2, 1 / 2, beam, body, weight)


def _sag_rate(bending: float, shear: float, beam: Beam, body: ViscousModuli, weight: float) -> SagRate:
    length, height = beam
    bent = bending * weight * length**4 / (body.young * height**2)
    sheared = shear * weight * length**2 / (shear_coefficient(body.poisson) * body.shear)
    return SagRate(bent, sheared, bent + sheared)


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


class ColumnRates(NamedTuple):
    """Velocities in a column that sinters on a setter without friction [m/s]."""

    top: float  # upward, at its top
    out: float  # outward, at the foot's rim


def column(height: float, radius: float, body: ViscousModuli, weight: float, free: float) -> ColumnRates:
    """How fast a round column sinks and how its foot shrinks while it sinters.

    Parameters
    ----------
    height, radius : float
        [m]
    body : Moduli
    weight : float
        Per volume [N/m3].
    free : float
        Free rate of volume strain, -P_L / K [1/s].

    Source
    ------
    Derived, uniaxial stress -w (H - z): top free H / 3 - w H^2 / (2 E), foot R (free / 3 + nu w H / E).
    """
    top = free / 3 * height - weight * height**2 / (2 * body.young)
    return ColumnRates(top, radius * (free / 3 + body.poisson * weight * height / body.young))


def drag_on_setter(length: float, friction: float, body: ViscousModuli, weight: float) -> float:
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
