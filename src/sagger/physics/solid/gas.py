"""Gas shut in closed pores, which takes back part of what drives their closing. SI."""

from __future__ import annotations

from itertools import pairwise
from typing import NamedTuple

import numpy as np

from sagger.errors import LawError
from sagger.physics.solid.law import LEAST_POROSITY

Array = np.ndarray
CUTS = 16  # stretches of a step on which the closing is summed up, of the fourth order
OPEN = -1.0  # of gas over temperature: nothing is shut in yet


class Shut(NamedTuple):
    """Gas along a furnace run, at the times of its `Course`."""

    closure: float  # relative density at which pores close [-]
    capillary: float  # pressure of a pore there, 2 alpha / radius [Pa]
    kelvin: Array  # float64 (n,)
    outside: Array  # float64 (n,): pressure of gas that does not dissolve [Pa]


class Around(NamedTuple):
    """Temperature and pressure at `CUTS` + 1 levels of equal decay in a step."""

    closure: float
    capillary: float
    kelvin: Array  # float64 (CUTS + 1,)
    outside: Array


def around(shut: Shut, decay: Array, begin: float, end: float) -> Around:
    """What gas meets between two levels of a rising decay (n,)."""
    levels = np.linspace(begin, end, CUTS + 1)
    return Around(
        shut.closure,
        shut.capillary,
        np.interp(levels, decay, shut.kelvin),
        np.interp(levels, decay, shut.outside),
    )


def halves(here: Around) -> tuple[Around, Around]:
    """The first and the second half of a step."""
    cuts = np.linspace(0, CUTS, CUTS + 1)
    parts = []
    for begin in (0, CUTS / 2):
        at = begin + cuts / 2
        parts.append(
            here._replace(kelvin=np.interp(at, cuts, here.kelvin), outside=np.interp(at, cuts, here.outside))
        )
    return parts[0], parts[1]


def closed(
    porosity: Array, decay: Array, shut_in: Array, warmer: Array, here: Around | None
) -> tuple[Array, Array]:
    """By how much ln porosity falls freely in a step (m,), and gas over temperature shut in after it [Pa/K].

    Parameters
    ----------
    porosity : float64 (m,)
        Before the step [-].
    decay : float64 (m,)
        Of the step, without gas [-].
    shut_in : float64 (m,)
        Gas over temperature before the step [Pa/K]; `OPEN` where pores are open.
    warmer : float64 (m,)
        [K]
    here : Around, optional
        None: no gas.

    Source
    ------
    The law of `coarsening.followed` in the decay without gas instead of time: ideal gas, its overpressure
    over the pore's capillary pressure taken off the drive.
    """
    if here is None:
        return decay, shut_in
    lost, gas, step = -np.log(porosity), shut_in.copy(), decay / CUTS
    first = lost.copy()
    for cut in range(CUTS):
        kelvin, outside = (each[cut : cut + 2] for each in (here.kelvin, here.outside))
        closing = (gas < 0) & (-np.expm1(-lost) >= here.closure)
        gas[closing] = outside[0] / (kelvin[0] + warmer[closing])
        mid = kelvin.mean() + warmer, outside.mean()
        one = _rate(lost, gas, (kelvin[0] + warmer, outside[0]), here)
        two = _rate(lost + step / 2 * one, gas, mid, here)
        three = _rate(lost + step / 2 * two, gas, mid, here)
        four = _rate(lost + step * three, gas, (kelvin[1] + warmer, outside[1]), here)
        lost = np.minimum(lost + step / 6 * (one + 2 * two + 2 * three + four), -np.log(LEAST_POROSITY))
    return lost - first, gas


def _rate(lost: Array, gas: Array, met: tuple[Array, float], here: Around) -> Array:
    """Fall of ln porosity over the decay without gas: 1 where pores are open."""
    kelvin, outside = met
    porosity = np.exp(-lost)
    left = porosity / (1 - porosity) * here.closure / (1 - here.closure)
    over = (gas * kelvin / left - outside) * np.cbrt(left) / here.capillary
    return np.where(gas > 0, 1 - over, 1.0)


def end(green: float, decay: Array, shut: Shut) -> float:
    """Relative density of a free body after a run of this decay (n,) with gas [-].

    Raises
    ------
    LawError
        If the run hardly sinters.
    """
    if not decay[-1] > 0:
        raise LawError("the programme does not sinter: nothing closes its pores; choose a hotter one")
    rising = np.concatenate([[True], np.diff(decay) > 0])
    along = shut._replace(kelvin=shut.kelvin[rising], outside=shut.outside[rising])
    porosity, gas, none = np.array([1 - green]), np.array([OPEN]), np.zeros(1)
    levels = np.linspace(0, decay[-1], 41)
    for begin, after in pairwise(levels):
        here = around(along, decay[rising], begin, after)
        lost, gas = closed(porosity, np.array([after - begin]), gas, none, here)
        porosity = porosity * np.exp(-lost)
    return float(1 - porosity[0])
