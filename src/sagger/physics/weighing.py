"""Density by weighing in air and in water (Archimedes)."""

from __future__ import annotations

import math
from typing import NamedTuple

from sagger.errors import LawError

AIR = 1.2  # density of air in a room [kg/m3]; memory
ZERO_C = 273.15


def water(temperature: float) -> float:
    """Density of air-free water at one atmosphere, 0 to 40 degC [kg/m3].

    Parameters
    ----------
    temperature : float
        [K]

    Raises
    ------
    LawError
        Outside 0 to 40 degC.

    Source
    ------
    Tanaka et al., Metrologia 38 (2001) 301; constants from memory, agree with IAPWS-95 to 0.0008 kg/m3.
    """
    t = temperature - ZERO_C
    if not 0 <= t <= 40:
        raise LawError(f"water is weighed between 0 and 40 degC, got {t:.1f} degC")
    return 999.974950 * (1 - (t - 3.983035) ** 2 * (t + 301.797) / (522528.9 * (t + 69.34881)))


class Density(NamedTuple):
    """A density and its standard uncertainty [kg/m3]."""

    density: float
    u: float


def sealed(
    in_air: float,
    in_water: float,
    water: float,
    u_mass: float = 0.0,
    u_water: float = 0.0,
    air: float = AIR,
    u_air: float = 0.0,
) -> Density:
    """Density of a piece without open pores, with the buoyancy of air.

    Parameters
    ----------
    in_air, in_water : float
        Readings of the balance [kg].
    water, air : float
        Density of the water and of the air [kg/m3].
    u_mass, u_water, u_air : float
        Standard uncertainty of each reading [kg] and of the densities [kg/m3].

    Raises
    ------
    LawError
        If the piece does not weigh less in water than in air.

    Source
    ------
    Archimedes: in_air (water - air) / (in_air - in_water) + air; JCGM 100, 5.1.2.
    """
    apart = in_air - in_water
    if in_water <= 0 or apart <= 0:
        raise LawError(f"a piece weighs less in water than in air: {in_air:g} kg, {in_water:g} kg")
    slope = (water - air) / apart**2
    parts = (
        slope * in_water * u_mass,
        slope * in_air * u_mass,
        in_air / apart * u_water,
        (1 - in_air / apart) * u_air,
    )
    return Density(in_air * (water - air) / apart + air, math.hypot(*parts))


def impregnated(
    dry: float, wet: float, immersed: float, water: float, u_mass: float = 0.0, u_water: float = 0.0
) -> Density:
    """Density of a piece whose open pores are filled, pores included, air's buoyancy neglected.

    Parameters
    ----------
    dry, wet, immersed : float
        Mass in air before and after filling, and filled under water [kg].
    water : float
        Density of the water [kg/m3].
    u_mass, u_water : float
        Standard uncertainty of each mass [kg] and of the water's density [kg/m3].

    Raises
    ------
    LawError
        If the masses do not follow dry <= wet > immersed.

    Source
    ------
    Method of ISO 2738 and ASTM B962 (form from memory): dry water / (wet - immersed); JCGM 100, 5.1.2.
    """
    _check_order(dry, wet, immersed)
    volume = (wet - immersed) / water
    density = dry / volume
    each = density / (wet - immersed)
    parts = (u_mass / volume, each * u_mass, each * u_mass, density / water * u_water)
    return Density(density, math.hypot(*parts))


class Porosity(NamedTuple):
    """Volume [m3], density [kg/m3], relative density and pores [-]."""

    volume: float
    density: float
    relative: float
    open: float
    total: float
    closed: float


def soaked(dry: float, wet: float, immersed: float, water: float, oil: float, solid: float) -> Porosity:
    """Density and pores of a piece whose open pores are filled with oil, air's buoyancy neglected.

    Parameters
    ----------
    dry, wet, immersed : float
        Mass in air before and after filling, and filled under water [kg].
    water, oil, solid : float
        Density of the water, of what fills the pores, and of the solid without pores [kg/m3].

    Raises
    ------
    LawError
        If the masses do not follow dry <= wet > immersed.

    Source
    ------
    Method of ISO 2738 and ASTM B962 (form from memory).
    """
    _check_order(dry, wet, immersed)
    volume = (wet - immersed) / water
    density = dry / volume
    open_pores, total = (wet - dry) / (oil * volume), 1 - density / solid
    return Porosity(volume, density, density / solid, open_pores, total, total - open_pores)


def _check_order(dry: float, wet: float, immersed: float) -> None:
    if not (0 < dry <= wet and 0 < immersed < wet):
        raise LawError(f"masses must follow dry <= wet > immersed: {dry:g}, {wet:g}, {immersed:g} kg")
