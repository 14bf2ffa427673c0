"""Drying a layer, and the vapour that comes off. All SI.

Vapour figures here are estimates for planning. Local codes, the equipment's maker and a licensed person
decide.
"""

from __future__ import annotations

from math import pi, sqrt

from scipy.constants import R, atm

from sagger.errors import LawError

NORMAL = 293.15  # temperature at which explosive limits and ventilation are stated here [K]


def evaporation_heat(mass: float, start: float, surface: float, heat_capacity: float, latent: float) -> float:
    """Heat to warm and evaporate a liquid [J].

    Parameters
    ----------
    mass : float
        Liquid that leaves [kg].
    start, surface : float
        Temperature at which it is jetted and at which it evaporates [K].
    heat_capacity, latent : float
        Of the liquid [J/(kg K)], [J/kg].

    Source: heat balance.
    """
    return mass * (heat_capacity * (surface - start) + latent)


def surface_heating(rise: float, time: float, conductivity: float, volume_heat: float) -> float:
    """Steady heat flux that warms the surface of a deep bed by `rise` [K] within `time` [s], in [W/m2].

    Parameters
    ----------
    conductivity, volume_heat : float
        Of the bed [W/(m K)], [J/(m3 K)].

    Source
    ------
    Carslaw and Jaeger, Conduction of Heat in Solids, 2nd ed., section 2.9: half space under constant
    flux. A bed still warm from the layers below needs less.
    """
    if time <= 0:
        raise LawError(f"time to warm a surface must be above 0, got {time:g} s")
    return rise * sqrt(pi * conductivity * volume_heat / time) / 2


def warmed_depth(time: float, conductivity: float, volume_heat: float) -> float:
    """Depth that heat reaches in a bed within `time` [m]; the flux gradient's depth, sqrt(pi alpha t)."""
    return sqrt(pi * conductivity / volume_heat * time)


def lamp_power(flux: float, area: float, evaporation: float, efficiency: float) -> float:
    """Electric power of the lamp [W].

    Parameters
    ----------
    flux, area : float
        Heat into the bed's surface [W/m2] and its area [m2].
    evaporation : float
        Power that goes into the liquid [W].
    efficiency : float
        Absorbed over electric power, between 0 and 1 [-].

    Source: heat balance.
    """
    if not 0 < efficiency <= 1:
        raise LawError(f"lamp efficiency must lie between 0 and 1, got {efficiency:g}; check the box card")
    return (flux * area + evaporation) / efficiency


def mass_transfer(film: float, air_density: float, air_heat: float, lewis: float) -> float:
    """Mass transfer coefficient of a drying surface [m/s] from its heat transfer coefficient [W/(m2 K)].

    Source: Chilton and Colburn, Ind. Eng. Chem. 26 (1934) 1183: h_m = h / (rho c_p Le^(2/3)).
    """
    return film / (air_density * air_heat * float(lewis ** (2 / 3)))


def drying_flux(transfer: float, at_surface: float, in_air: float) -> float:
    """Vapour that the air can carry from a wet surface [kg/(m2 s)], at least 0.

    Parameters
    ----------
    transfer : float
        Mass transfer coefficient [m/s].
    at_surface, in_air : float
        Vapour density over the wet surface and in the room [kg/m3].

    Source: definition of the mass transfer coefficient.
    """
    return max(0.0, transfer * (at_surface - in_air))


def limit_density(limit: float, molar_mass: float) -> float:
    """Lower explosive limit of a vapour as mass per volume of air at 20 degC and 1 atm [kg/m3].

    Parameters
    ----------
    limit : float
        Lower explosive limit as volume share [-].
    molar_mass : float
        Of the solvent [kg/mol].

    Source: ideal gas.
    """
    return float(limit * molar_mass * atm / (R * NORMAL))


def limit_factor(temperature: float) -> float:
    """By how much the lower explosive limit falls at a temperature above 20 degC [-]; 1 below.

    Source
    ------
    EN 1539 form, LEL_T = LEL_20 [1 - 0.0014 (T - 20 degC)] (memory). Kept above 0.5.
    """
    return min(1.0, max(0.5, 1 - 0.0014 * (temperature - NORMAL)))


def ventilation(vapour: float, limit: float, share: float) -> float:
    """Air at 20 degC that keeps a vapour at a share of its lower explosive limit [m3/s].

    Parameters
    ----------
    vapour : float
        Highest rate at which solvent comes off [kg/s].
    limit : float
        Lower explosive limit at the place's temperature, as mass per volume [kg/m3].
    share : float
        Share of that limit allowed [-]; a quarter is usual where nothing is monitored.

    Source
    ------
    Mass balance in the form of EN 1539 (memory). Exposure limits for people usually ask for far more air.
    """
    if not 0 < share <= 0.5:
        raise LawError(f"share of the explosive limit must lie between 0 and 0.5, got {share:g}")
    return vapour / (share * limit)


def warmed_flow(flow: float, temperature: float) -> float:
    """Flow of air [m3/s] at `temperature` [K] that is `flow` at 20 degC. Source: ideal gas."""
    return flow * temperature / NORMAL


def vapour_volume(specific_gravity: float, vapour_density: float) -> float:
    """Vapour from a volume of liquid solvent at 70 degF [m3/m3].

    Parameters
    ----------
    specific_gravity : float
        Of the liquid against water [-].
    vapour_density : float
        Of the vapour against air, molar mass over 28.96 g/mol [-].

    Source
    ------
    NFPA 86 form, 8.31 SG / (0.075 VD) ft3 per US gallon (memory).
    """
    return 8.31 * specific_gravity / (0.075 * vapour_density) * 0.3048**3 / 3.785411784e-3


def dilution_air(vapour: float, limit: float, margin: float = 4.0) -> float:
    """Air per volume of liquid solvent that keeps its vapour `margin` times below the limit [m3/m3].

    Parameters
    ----------
    vapour : float
        Vapour from that volume [m3/m3], see `vapour_volume`.
    limit : float
        Lower explosive limit as volume share [-].

    Source
    ------
    NFPA 86 form, v (100 - LFL) / LFL with the margin of 4 for 25 % (memory).
    """
    return margin * vapour * (1 - limit) / limit
