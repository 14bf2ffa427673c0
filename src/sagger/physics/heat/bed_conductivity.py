"""How well a powder bed conducts heat. All SI, temperatures in kelvin."""

from __future__ import annotations

from math import log, pi, sqrt
from typing import NamedTuple

from scipy.constants import R, Stefan_Boltzmann

from sagger.errors import LawError

SPHERES = 1.25  # shape factor of the cell model for balls; 1.4 for broken grains


def deformation(porosity: float, shape: float = SPHERES) -> float:
    """Shape parameter B of the cell model [-].

    Source: Zehner and Schlünder, Chem.-Ing.-Tech. 42 (1970) 933; VDI Heat Atlas, 2nd ed., chapter D6.3.
    """
    if not 0 < porosity < 1:
        raise LawError(f"porosity must lie between 0 and 1, got {porosity:g}; check the powder card")
    return shape * float(((1 - porosity) / porosity) ** (10 / 9))


def bauer_schluender(
    porosity: float,
    ratio: float,
    slip: float,
    radiation: float = 0.0,
    contact: float = 0.0,
    shape: float = SPHERES,
) -> float:
    """Conductivity of a bed over that of its gas [-].

    Parameters
    ----------
    porosity : float
        Share of pores [-].
    ratio : float
        Conductivity of the solid over that of the gas [-].
    slip : float
        Conductivity of the gas in the gaps over that of free gas, see `slip_ratio`; 1 for coarse grains [-].
    radiation : float
        Radiation over conduction in the gas, see `radiation_ratio` [-].
    contact : float
        Flattened share of the grain surface, 0 to 0.01, fitted [-].
    shape : float
        Factor of the cell model, 1.25 for balls, 1.4 for broken grains [-].

    Raises
    ------
    LawError
        If a share lies outside its range.

    Source
    ------
    Zehner, Bauer and Schlünder in the form of VDI Heat Atlas, 2nd ed., chapter D6.3 (read in public code).
    """
    if ratio <= 0 or not 0 < slip <= 1 or radiation < 0 or not 0 <= contact < 1:
        raise LawError(
            "a bed needs ratio > 0, 0 < slip <= 1, radiation >= 0, 0 <= contact < 1; "
            f"got {ratio:g}, {slip:g}, {radiation:g}, {contact:g}"
        )
    walls = sqrt(1 - porosity)
    past = (1 - walls) * porosity * (1 / (porosity - 1 + 1 / slip) + radiation)
    through = _cell(deformation(porosity, shape), ratio, slip, radiation)
    return past + walls * (contact * ratio + (1 - contact) * through)


def _cell(b: float, ratio: float, slip: float, radiation: float) -> float:
    """Conductivity of the cell's core over that of the gas, k_c in the VDI Heat Atlas."""
    n = (1 + (radiation - b * slip) / ratio) / slip - b * (1 / slip - 1) * (1 + radiation / ratio)
    if abs(n) < 1e-6:  # the formula is 0/0 there; step over it
        return (
            _cell(b, ratio * (1 + 1e-4), slip, radiation) + _cell(b, ratio * (1 - 1e-4), slip, radiation)
        ) / 2
    together = ratio + radiation
    logarithm = log(together / (b * (slip + (1 - slip) * together)))
    first = b * (together - 1) / (n**2 * slip * ratio) * logarithm
    second = (b + 1) / (2 * b) * (radiation / slip - b * (1 + (1 - slip) / slip * radiation))
    return float(2 / n * (first + second - (b - 1) / (n * slip)))


def radiation_ratio(temperature: float, size: float, emissivity: float, gas: float) -> float:
    """Radiation from grain to grain over conduction in the gas [-].

    Parameters
    ----------
    temperature, size : float
        Of the bed [K], diameter of its grains [m].
    emissivity, gas : float
        Of the grains [-], conductivity of the gas [W/(m K)].

    Source: VDI Heat Atlas, 2nd ed., chapter D6.3.
    """
    carried = 4 * float(Stefan_Boltzmann) * temperature**3 * size
    return carried / ((2 / emissivity - 1) * gas)


class Gas(NamedTuple):
    """A gas between grains at one temperature."""

    conductivity: float  # [W/(m K)]
    molar_mass: float  # [kg/mol]
    heat_capacity: float  # [J/(kg K)]
    constant: float = 2.8  # C of the accommodation law: 2.8 for air, 50 for helium and hydrogen (memory)


def jump_length(gas: Gas, temperature: float, pressure: float) -> float:
    """Length over which gas molecules carry the temperature of a wall [m].

    Parameters
    ----------
    gas : Gas
    temperature, pressure : float
        [K], [Pa].

    Source
    ------
    VDI Heat Atlas, 2nd ed., chapter D6.3; accommodation coefficient g from
    log10(1/g - 1) = 0.6 - (1000/T + 1)/C (memory).
    """
    accommodation = 1 / (1 + 10 ** (0.6 - (1000 / temperature + 1) / gas.constant))
    speed = sqrt(2 * pi * R * temperature / gas.molar_mass)
    stored = pressure * (2 * gas.heat_capacity - R / gas.molar_mass)
    return float(2 * (2 - accommodation) / accommodation * speed * gas.conductivity / stored)


def slip_ratio(jump: float, size: float) -> float:
    """Conductivity of gas between grains of `size` [m] over that of free gas [-], for a `jump` length [m]."""
    return 1 / (1 + jump / size)


class BedGrains(NamedTuple):
    """Grains of a bed, as heat meets them."""

    conductivity: float  # [W/(m K)]
    diameter: float  # [m]
    emissivity: float  # [-]
    contact: float = 0.0  # as in `bauer_schluender` [-]


def bed_conductivity(
    packing: float, grains: BedGrains, gas: Gas, temperature: float, pressure: float
) -> float:
    """Conductivity of a powder bed [W/(m K)].

    Parameters
    ----------
    packing : float
        Share that is solid [-].
    grains : BedGrains
    gas : Gas
        Between them.
    temperature, pressure : float
        [K], [Pa].

    Source
    ------
    Zehner, Bauer and Schlünder, VDI Heat Atlas, 2nd ed., chapter D6.3. Within a factor of two of measured
    metal powder; one thermocouple in the core of a box tells more.
    """
    slip = slip_ratio(jump_length(gas, temperature, pressure), grains.diameter)
    radiation = radiation_ratio(temperature, grains.diameter, grains.emissivity, gas.conductivity)
    ratio = grains.conductivity / gas.conductivity
    return gas.conductivity * bauer_schluender(1 - packing, ratio, slip, radiation, grains.contact)
