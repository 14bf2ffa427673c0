"""Many bodies through one firing: each as one draw of what is not known of the powder."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.constants import R

from sagger.compiled import checked
from sagger.errors import LawError
from sagger.physics.sintering.coarsening import CoarseningTerms, rates

Array = NDArray[np.float64]
IDLE = 1e-9  # what a stretch adds to -ln porosity and to the grains' volume; less is left out


class BodyDraws(NamedTuple):
    """Powder bodies before they are fired, one of each array's m values for each draw."""

    density: Array  # relative [-]
    speed: Array  # 9 alpha / (4 r factor), of `densify.decay` [K/s]
    energy: Array  # Q of viscosity [J/mol]
    exponent: Array  # by which viscosity rises with the grain [-]
    growth: Array  # factor of grain growth over the cube of the first grain size [1/s]; 0: none
    growth_energy: Array  # [J/mol]
    drag: Array  # porosity below which pores let go of boundaries [-]
    closure: Array  # relative density at which pores close; above 1: never [-]
    capillary: Array  # 2 alpha / r of a pore at closure [Pa]


def ends(time: ArrayLike, temperature: ArrayLike, bodies: BodyDraws, pressure: ArrayLike = 0.0) -> Array:
    """Relative density of each body at the end of a path of straight lines, array (m,).

    Parameters
    ----------
    time, temperature : array (n,)
        Corners of the path [s], [K], close enough that rates change little from one to the next.
    bodies : BodyDraws
    pressure : float or array (n,)
        Of gas that does not dissolve, at each point [Pa].

    Raises
    ------
    LawError
        If the path is not one, or a body lies outside 0 to 1.

    Source
    ------
    The law of `coarsening.followed`, one step of the fourth order on each stretch.
    """
    t, kelvin = np.asarray(time, float), np.asarray(temperature, float)
    if t.shape != kelvin.shape or t.ndim != 1 or t.size < 2 or np.any(np.diff(t) < 0):
        raise LawError(f"a path needs times that do not go back and as many temperatures, got {t.size}")
    table = np.ascontiguousarray(np.column_stack(bodies), float)
    if np.any(table[:, 0] <= 0) or np.any(table[:, 0] >= 1):
        raise LawError("a green density must lie between 0 and 1")
    table[:, [2, 5]] /= R
    outside = np.broadcast_to(np.asarray(pressure, float), t.shape).copy()
    return np.asarray(_ends(t, kelvin, outside, table))


@checked
def _ends(time: Array, kelvin: Array, outside: Array, table: Array) -> Array:
    density = np.empty(table.shape[0])
    for row in range(table.shape[0]):
        density[row] = _end(time, kelvin, outside, table[row])
    return density


@checked
def _end(time: Array, kelvin: Array, outside: Array, body: Array) -> float:
    """As `coarsening._march`, keeping nothing on the way and passing over the cold."""
    speed, energy, growth, slow = body[1], body[2], body[4], body[5]
    routes = np.array([[1.0, energy, body[3]]])
    terms = CoarseningTerms(speed, routes, (growth, slow, body[6]), (body[7], body[8]))
    lost, volume, gas = -math.log(1 - body[0]), 1.0, -1.0
    for i in range(1, time.size):
        step, at, then = time[i] - time[i - 1], kelvin[i - 1], kelvin[i]
        hot = max(at, then)
        most = step * (speed * math.exp(-energy / hot) / hot + growth * math.exp(-slow / hot))
        if most < IDLE:
            continue
        if gas < 0 and 1 - math.exp(-lost) >= terms.closed[0]:
            gas = outside[i] / at
        half, middle = step / 2, (at + then) / 2
        one = rates((lost, volume), at, gas, outside[i], terms)
        state = lost + half * one[0], volume + half * one[1]
        two = rates(state, middle, gas, outside[i], terms)
        state = lost + half * two[0], volume + half * two[1]
        three = rates(state, middle, gas, outside[i], terms)
        state = lost + step * three[0], volume + step * three[1]
        four = rates(state, then, gas, outside[i], terms)
        lost += step / 6 * (one[0] + 2 * two[0] + 2 * three[0] + four[0])
        volume += step / 6 * (one[1] + 2 * two[1] + 2 * three[1] + four[1])
    return 1 - math.exp(-lost)
