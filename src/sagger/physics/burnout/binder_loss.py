"""How binder burns out: first-order kinetics along a programme, and gas pressure in a thick section."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.constants import R
from scipy.optimize import brentq

from sagger.errors import LawError
from sagger.physics.burnout import arrhenius

Array = NDArray[np.float64]


def frequency(energy: float, peak: float, rate: float) -> float:
    """Frequency factor A of a first-order burnout whose rate peaks at `peak` [1/s].

    Parameters
    ----------
    energy : float
        Activation energy E [J/mol].
    peak : float
        Temperature of the fastest loss [K] ...
    rate : float
        ... when heated at this rate [K/s].

    Raises
    ------
    LawError
        If one of them is not positive.

    Source
    ------
    Kissinger: E rate / (R peak^2) = A exp(-E / (R peak)), exact for first order.
    """
    if min(energy, peak, rate) <= 0:
        raise LawError(f"energy, peak and rate must be positive: {energy:g}, {peak:g}, {rate:g}")
    return float(rate * energy / (R * peak**2) * math.exp(energy / (R * peak)))


def peak(energy: float, frequency: float, rate: float) -> float:
    """Temperature of the fastest loss when heated at `rate` [K/s]: Kissinger's relation solved for T [K]."""
    if min(energy, frequency, rate) <= 0:
        raise LawError(f"energy, frequency and rate must be positive: {energy:g}, {frequency:g}, {rate:g}")

    def excess(x: float) -> float:  # x = E / (R T)
        return math.log(rate * R / energy) + 2 * math.log(x) + x - math.log(frequency)

    return float(energy / (R * brentq(excess, 1e-6, 1e4, xtol=1e-12)))


def gone(time: ArrayLike, temperature: ArrayLike, energy: float, frequency: float) -> Array:
    """Share of the binder gone at each point of a path of straight lines [-].

    Parameters
    ----------
    time, temperature : array (n,)
        Corners of the path [s], [K].
    energy, frequency : float
        First-order kinetics: E [J/mol], A [1/s].

    Source
    ------
    d gone / dt = A (1 - gone) exp(-E/RT), closed form on each stretch (see `arrhenius.exposure`).
    """
    return -np.expm1(-frequency * arrhenius.exposure(time, temperature, energy))


def loss_rate(gone: ArrayLike, temperature: ArrayLike, energy: float, frequency: float) -> Array:
    """Rate at which the share gone grows [1/s]: A (1 - gone) exp(-E/RT)."""
    left = 1 - np.asarray(gone, float)
    return np.asarray(frequency * left * np.exp(-energy / (R * np.asarray(temperature, float))))


def hold(share: float, temperature: float, energy: float, frequency: float) -> float:
    """Time at `temperature` [K] until a `share` of the binder is gone [s], first order."""
    if not 0 < share < 1:
        raise LawError(f"a share must lie between 0 and 1, got {share:g}; all of it would take for ever")
    return float(-math.log1p(-share) / (frequency * math.exp(-energy / (R * temperature))))


def peak_loss_rate(energy: float, peak: float, rate: float) -> float:
    """Fastest rate at which the share gone grows on a ramp [1/s]: rate E / (e R peak^2), 4 to 8 % low."""
    return float(rate * energy / (math.e * R * peak**2))


def permeability(diameter: float, porosity: float) -> float:
    """Permeability of a bed of spheres [m2].

    Source
    ------
    Kozeny-Carman: porosity^3 d^2 / (180 (1 - porosity)^2).
    """
    if not 0 < porosity < 1:
        raise LawError(f"porosity must lie between 0 and 1, got {porosity:g}; check the green density")
    return porosity**3 * diameter**2 / (180 * (1 - porosity) ** 2)


class Flow(NamedTuple):
    """What resists the way out: permeability [m2]; viscosity [Pa.s] and molar mass [kg/mol] of the gas."""

    permeability: float
    viscosity: float
    molar_mass: float


def overpressure(source: ArrayLike, half: float, temperature: ArrayLike, flow: Flow, outside: float) -> Array:
    """Gas pressure in the middle of a slab that gives off vapour, above the pressure outside [Pa].

    Parameters
    ----------
    source : float or array
        Vapour given off [kg/m3.s].
    half : float
        Half the thickness of the slab [m].
    temperature : float or array
        [K]
    flow : Flow
        Open pores and gas.
    outside : float
        Pressure around the slab [Pa].

    Source
    ------
    Darcy flow of an ideal gas through open pores, quasi-steady:
    p^2 = outside^2 + viscosity R T source half^2 / (permeability M). Derived; same structure as Lombardo's
    models of binder removal, J. Am. Ceram. Soc. 85 (2002) 780.
    """
    squared = R * np.asarray(temperature, float) * np.asarray(source, float) * half**2
    squared = squared * flow.viscosity / (flow.permeability * flow.molar_mass)
    return np.asarray(np.sqrt(outside**2 + squared) - outside)


class BinderSlab(NamedTuple):
    """A slab that gives off its binder through its pores."""

    half: float  # half the thickness [m]
    binder: float  # mass that leaves, per volume of the slab [kg/m3]
    flow: Flow


def fastest_heating(allowed: float, slab: BinderSlab, peak: float, energy: float, outside: float) -> float:
    """Heating rate at which the middle of a slab just reaches an allowed overpressure [K/s].

    Parameters
    ----------
    allowed : float
        Overpressure [Pa].
    slab : BinderSlab
    peak, energy : float
        Of the burnout [K], [J/mol].
    outside : float
        Pressure around the slab [Pa].

    Source
    ------
    `overpressure` with `peak_loss_rate`; falls with the square of thickness.
    """
    room = (allowed + outside) ** 2 - outside**2
    eased = slab.flow.permeability * slab.flow.molar_mass / slab.flow.viscosity
    source = slab.binder * peak_loss_rate(energy, peak, 1.0)  # of a ramp of 1 K/s; the rate scales it
    return float(room * eased / (R * peak * slab.half**2 * source))


def lag(rate: float, half: float, diffusivity: float) -> float:
    """How far the middle of a slab stays behind its faces while they are heated steadily [K].

    Parameters
    ----------
    rate : float
        Of the faces [K/s].
    half, diffusivity : float
        Half the thickness [m]; conductivity over heat per volume [m2/s].

    Source
    ------
    Carslaw and Jaeger, Conduction of Heat in Solids, 3.8 (memory): once settled,
    rate half^2 / (2 diffusivity).
    """
    if diffusivity <= 0:
        raise LawError(f"the diffusivity must be above 0, got {diffusivity:g} m2/s")
    return rate * half**2 / (2 * diffusivity)
