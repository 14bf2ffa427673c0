"""Density by weighing in air and in water (Archimedes)."""

from __future__ import annotations

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


def sealed(in_air: float, in_water: float, water: float, air: float = AIR) -> float:
    """Density of a piece without open pores, with the buoyancy of air [kg/m3].

    Parameters
    ----------
    in_air, in_water : float
        Readings of the balance [kg].
    water, air : float
        Density of the water and of the air [kg/m3].

    Raises
    ------
    LawError
        If the piece does not weigh less in water than in air.

    Source
    ------
    Archimedes: in_air (water - air) / (in_air - in_water) + air.
    """
    apart = in_air - in_water
    if in_water <= 0 or apart <= 0:
        raise LawError(f"a piece weighs less in water than in air: {in_air:g} kg, {in_water:g} kg")
    return in_air * (water - air) / apart + air


def impregnated(dry: float, wet: float, immersed: float, water: float) -> float:
    """Density of a piece whose open pores are filled, pores included, air's buoyancy neglected [kg/m3].

    Parameters
    ----------
    dry, wet, immersed : float
        Mass in air before and after filling, and filled under water [kg].
    water : float
        Density of the water [kg/m3].

    Raises
    ------
    LawError
        If the masses do not follow dry <= wet > immersed.

    Source
    ------
    Method of ISO 2738 and ASTM B962 (form from memory): dry water / (wet - immersed).
    """
    if not (0 < dry <= wet and 0 < immersed < wet):
        raise LawError(f"masses must follow dry <= wet > immersed: {dry:g}, {wet:g}, {immersed:g} kg")
    return dry * water / (wet - immersed)
