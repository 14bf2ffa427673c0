"""How a powder body densifies while its grains grow and its pores close on gas.

The law of `densify.densified` with a capillary radius and a viscosity that follow the grain, and a drive that
the gas shut in closed pores takes back. Without either it is that closed form.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.constants import R
from scipy.optimize import brentq

from sagger.compiled import checked
from sagger.errors import LawError

Array = NDArray[np.float64]
CUTS = (
    4  # steps of the fourth order on each stretch of a path; halving them moves a density by less than 1e-8
)
GROWTH = 3  # exponent m of grain growth, G^m - G0^m


class Route(NamedTuple):
    """One way for matter to move: the viscosity it alone would give, factor T exp(Q/RT) (G/G0)^exponent."""

    factor: float  # [Pa.s/K] at the first grain size
    energy: float  # Q [J/mol]
    exponent: float  # 0 fixed, 2 through the lattice, 3 along boundaries [-]


class GreenBody(NamedTuple):
    """A powder body before it is fired."""

    density: float  # relative [-]
    surface_energy: float  # [J/m2]
    radius: float  # capillary radius at the first grain size [m]
    routes: tuple[Route, ...]  # side by side: the easiest way counts most


class Growth(NamedTuple):
    """Grain growth that pores hold back, d(G^3)/dt = factor exp(-Q/RT) (drag / (drag + porosity))^(3/2)."""

    grain: float  # first grain size [m]
    factor: float  # [m3/s]
    energy: float  # [J/mol]
    drag: float  # porosity below which pores let go [-]


class Pores(NamedTuple):
    """Pores that close on a gas which cannot leave."""

    closure: float  # relative density at which they close [-]
    radius: float  # of a pore there [m]


class FiringCourse(NamedTuple):
    density: Array  # (n,) relative, at each point of the path [-]
    grain: Array  # (n,) over the first grain size [-]


class CoarseningTerms(NamedTuple):
    """What the rates hang on, of a body, its growth and its pores."""

    drive: float  # sintering stress at the first grain size, 9 alpha / (4 r) [Pa]
    routes: Array  # (k, 3): factor, energy over R [K], exponent of each
    growth: tuple[
        float, float, float
    ]  # factor over the first grain size cubed [1/s], energy over R [K], drag
    closed: tuple[float, float]  # density at which pores close [-], their capillary pressure there [Pa]


def followed(
    time: ArrayLike,
    temperature: ArrayLike,
    body: GreenBody,
    growth: Growth | None = None,
    pores: Pores | None = None,
    pressure: ArrayLike = 0.0,
) -> FiringCourse:
    """Relative density and grain size along a path of straight lines.

    Parameters
    ----------
    time, temperature : array (n,)
        Corners of the path [s], [K].
    body : Body
    growth : Growth, optional
        None: grains keep their size.
    pores : Pores, optional
        None: no gas is shut in.
    pressure : float or array (n,)
        Of gas that does not dissolve (argon, nitrogen, air), at each point [Pa]; 0 for vacuum and hydrogen.

    Raises
    ------
    LawError
        If the path is not one, or the body lies outside 0 to 1.

    Source
    ------
    d density / dt = (1 - density) 9 alpha / (4 r eta), r and eta with the grain: Olevsky, Mater. Sci. Eng. R
    23 (1998) 41. Growth with pore drag after Olevsky, Du and Cocks (from memory). Gas: ideal, shut in at
    `closure`; the drive falls by its overpressure over the pore's capillary pressure 2 alpha / r (derived, so
    that it ends where `gas_limit` says). Fourth-order steps.
    """
    t, kelvin = np.asarray(time, float), np.asarray(temperature, float)
    if t.shape != kelvin.shape or t.ndim != 1 or t.size < 2 or np.any(np.diff(t) < 0):
        raise LawError(f"a path needs times that do not go back and as many temperatures, got {t.size}")
    if not 0 < body.density < 1 or not body.routes:
        raise LawError(f"density must lie between 0 and 1 and matter have a route, got {body.density:g}")
    grains = growth or Growth(1.0, 0.0, 0.0, 1.0)
    shut = pores or Pores(2.0, 1.0)  # a density that is never reached
    drive = 9 * body.surface_energy / (4 * body.radius)
    outside = np.broadcast_to(np.asarray(pressure, float), t.shape).copy()
    grown = (grains.factor / grains.grain**GROWTH, grains.energy / R, grains.drag)
    closed = (shut.closure, 2 * body.surface_energy / shut.radius)
    routes = np.array(body.routes, float)
    routes[:, 1] /= R
    terms = CoarseningTerms(drive, routes, grown, closed)
    return FiringCourse(*_march(t, kelvin, outside, body.density, terms))


@checked
def _march(
    time: Array, kelvin: Array, outside: Array, start: float, terms: CoarseningTerms
) -> tuple[Array, Array]:
    """The path in steps: lost = -ln(porosity), volume = (G/G0)^3, gas = pressure over temperature shut in."""
    density, grain = np.empty(time.size), np.empty(time.size)
    lost, volume, gas = -math.log(1 - start), 1.0, -1.0
    density[0], grain[0] = start, 1.0
    for i in range(1, time.size):
        step, rise = (time[i] - time[i - 1]) / CUTS, (kelvin[i] - kelvin[i - 1]) / CUTS
        for cut in range(CUTS):
            at = kelvin[i - 1] + cut * rise
            if gas < 0 and 1 - math.exp(-lost) >= terms.closed[0]:
                gas = outside[i] / at
            half, middle = step / 2, at + rise / 2
            one = rates((lost, volume), at, gas, outside[i], terms)
            then = lost + half * one[0], volume + half * one[1]
            two = rates(then, middle, gas, outside[i], terms)
            then = lost + half * two[0], volume + half * two[1]
            three = rates(then, middle, gas, outside[i], terms)
            then = lost + step * three[0], volume + step * three[1]
            four = rates(then, at + rise, gas, outside[i], terms)
            lost += step / 6 * (one[0] + 2 * two[0] + 2 * three[0] + four[0])
            volume += step / 6 * (one[1] + 2 * two[1] + 2 * three[1] + four[1])
        density[i], grain[i] = 1 - math.exp(-lost), volume ** (1 / 3)
    return density, grain


@checked
def rates(
    state: tuple[float, float], kelvin: float, gas: float, outside: float, terms: CoarseningTerms
) -> tuple[float, float]:
    """Rates of `lost` and `volume` [1/s]."""
    routes, grown, closed = terms.routes, terms.growth, terms.closed
    grain, porosity = state[1] ** (1 / 3), math.exp(-state[0])
    fluid = 0.0
    for route in range(routes.shape[0]):
        factor, energy, exponent = routes[route, 0], routes[route, 1], routes[route, 2]
        fluid += math.exp(-energy / kelvin) / (factor * kelvin * grain**exponent)
    free = terms.drive / grain * fluid
    if gas > 0:
        left = (
            porosity / (1 - porosity) * closed[0] / (1 - closed[0])
        )  # volume of a pore over that at closure
        free *= 1 - (gas * kelvin / left - outside) * left ** (1 / 3) / closed[1]
    drag = (grown[2] / (grown[2] + porosity)) ** 1.5
    return free, grown[0] * math.exp(-grown[1] / kelvin) * drag


def gas_limit(pores: Pores, surface_energy: float, pressure: float) -> float:
    """Relative density at which gas shut in at `pressure` [Pa] holds the pores open; 1 without gas [-].

    Source
    ------
    Balance of an ideal gas at one temperature with the pore's capillary pressure 2 alpha / r, r falling as
    the cube root of the pore's volume; mechanics, derived.
    """
    if not 0 < pores.closure < 1 or pressure < 0:
        raise LawError(f"pores must close between 0 and 1, got {pores.closure:g}, {pressure:g} Pa")
    if pressure == 0:
        return 1.0
    capillary = 2 * surface_energy / pores.radius

    def excess(left: float) -> float:  # volume of a pore over that at closure
        return float(pressure * (1 / left - 1) - capillary * left ** (-1 / 3))

    left = brentq(excess, 1e-12, 1.0, xtol=1e-15)
    void = left * (1 - pores.closure) / pores.closure
    return float(1 / (1 + void))
