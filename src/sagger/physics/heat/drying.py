"""Drying a layer, and the vapour that comes off. All SI.

Vapour figures here are estimates for planning. Local codes, the equipment's maker and a licensed person
decide.
"""

from __future__ import annotations

from math import exp, pi, sqrt
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.constants import R, atm
from scipy.special import erfc

from sagger.errors import LawError

Array = NDArray[np.float64]
WATER = 0.018015  # molar mass [kg/mol]
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


def water_vapour(temperature: float) -> float:
    """Density of saturated water vapour [kg/m3] at a temperature [K].

    Source
    ------
    Magnus form with the constants of Sonntag 1990 (memory), ideal gas; within 1 % of IAPWS-IF97 from 10 to
    90 degC (tests/nature/test_drying.py).
    """
    celsius = temperature - 273.15
    pressure = 611.2 * exp(17.62 * celsius / (243.12 + celsius))
    return float(pressure * WATER / (R * temperature))


def warmth_at(depth: Array, time: float, conductivity: float, volume_heat: float) -> Array:
    """Rise of temperature at a depth over that of the surface [-], 1 at the surface.

    Parameters
    ----------
    depth : (n,) float
        Below the surface [m].
    time : float
        Since heating began [s].
    conductivity, volume_heat : float
        Of the bed [W/(m K)], [J/(m3 K)].

    Source
    ------
    Carslaw and Jaeger, 2nd ed., section 2.9: half space under constant flux, sqrt(pi) ierfc(z / 2 sqrt(a t)).
    """
    x = depth / (2 * sqrt(conductivity / volume_heat * time))
    return np.asarray(np.exp(-(x**2)) - sqrt(pi) * x * erfc(x))


def vapour_way(depth: Array, transfer: float, porosity: float, temperature: float) -> Array:
    """Flux from below dry powder over the flux from the bare surface at the same vapour density [-].

    Parameters
    ----------
    depth : (n,) float
        Of dry powder above [m].
    transfer : float
        Mass transfer coefficient of the surface [m/s].
    porosity : float
        Of the powder above [-].
    temperature : float
        [K].

    Source
    ------
    Two resistances in a row; water vapour in air 2.5e-5 m2/s at 298 K, growing with T^1.75 (memory), in pores
    times porosity^1.5 (Bruggeman).
    """
    diffusivity = 2.5e-5 * (temperature / 298.15) ** 1.75 * porosity**1.5
    return np.asarray(1 / (1 + depth * transfer / diffusivity))


class LiquidBalance(NamedTuple):
    """Where the liquid of a stack of layers went [kg]."""

    left: Array  # (n,) in each layer when the last one is dried
    gone: Array  # (n,) while each layer is dried, from it and those below


def stack(liquid: Array, leaves: Array) -> LiquidBalance:
    """What is left in each layer, and what leaves during each drying.

    Parameters
    ----------
    liquid : (n,) float
        Jetted into each layer, from the lowest [kg].
    leaves : (m,) float
        Share of its liquid that a layer would lose in its own drying, in the next layer's, and so on [-].

    Source: mass balance; what left and what is left are what was jetted.
    """
    staying = np.concatenate([[1.0], np.maximum(0.0, 1 - np.cumsum(leaves))])
    count = len(liquid)
    later = np.minimum(count - np.arange(count), len(leaves))
    gone = np.convolve(liquid, -np.diff(staying))[:count]
    return LiquidBalance(liquid * staying[later], gone)


def batch_air(solvent: float) -> float:
    """Air that a batch oven is given for a load of liquid solvent [m3], in [m3/s] at 70 degF.

    Source
    ------
    NFPA 86, batch ovens where nothing better is known: 440 standard ft3 per minute per US gallon (memory).
    """
    return solvent / 3.785411784e-3 * 440 * 0.3048**3 / 60


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
