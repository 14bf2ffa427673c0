"""How a powder body densifies: viscous law in closed form, and the master curve it makes.

Signs: tension and expansion count positive.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sagger.errors import LawError
from sagger.physics.burnout import arrhenius

Array = NDArray[np.float64]


def densified(start: float, decay: ArrayLike) -> Array:
    """Relative density after free sintering [-].

    Parameters
    ----------
    start : float
        Relative density before [-].
    decay : float or array
        Integral of `speed` over time [-].

    Raises
    ------
    LawError
        If `start` lies outside 0 to 1, or decay is negative.

    Source
    ------
    d density / dt = k (1 - density), whatever the course of temperature and grain size: the law of Olevsky
    with shear and bulk viscosities density^2 and (2/3) density^3 / (1 - density), derived.
    """
    if not 0 < start <= 1 or np.any(np.asarray(decay) < 0):
        raise LawError(f"density must lie between 0 and 1 and decay not below 0: {start:g}")
    return np.asarray(1 - (1 - start) * np.exp(-np.asarray(decay, float)))


def decay(
    time: ArrayLike,
    temperature: ArrayLike,
    surface_energy: float,
    radius: float,
    factor: float,
    energy: float,
) -> Array:
    """Integral of `speed` up to each point of a path of straight lines [-].

    Parameters
    ----------
    time, temperature : array (n,)
        Corners of the path [s], [K].
    surface_energy, radius : float
        alpha [J/m2], capillary radius r [m]; only alpha / (r factor) matters.
    factor, energy : float
        Of `viscosity` [Pa.s/K], [J/mol].

    Source
    ------
    9 alpha / (4 r factor) times the work of sintering, see `arrhenius.work`.
    """
    return np.asarray(9 * surface_energy / (4 * radius * factor) * arrhenius.work(time, temperature, energy))


def sigmoid(log_work: float, start: float, centre: float, width: float) -> float:
    """Relative density on a sigmoid master sintering curve [-].

    Parameters
    ----------
    log_work : float
        Natural logarithm of the work of sintering in s/K.
    start : float
        Relative density before [-].
    centre, width : float
        ln work at half densification, and its spread [-].

    Source
    ------
    Su and Johnson, J. Am. Ceram. Soc. 79 (1996) 3211 (form from memory).
    """
    return start + (1 - start) / (1 + math.exp(-(log_work - centre) / width))


def linearised(density: float, start: float) -> float:
    """ln((density - start) / (1 - density)): straight in ln work on a sigmoid master curve [-].

    Source
    ------
    Linearised master sintering curve, J. Am. Ceram. Soc. 92 (2009) 1403 (abstract read).
    """
    if not start < density < 1:
        raise LawError(f"density must lie between {start:g} and 1, got {density:g}")
    return math.log((density - start) / (1 - density))


Curve = tuple[Array, Array, Array]  # time [s], temperature [K], relative density [-]


def scatter(energy: float, curves: Sequence[Curve], levels: ArrayLike) -> float:
    """How badly curves collapse onto one: mean variance of ln work between them at equal density [-].

    Parameters
    ----------
    energy : float
        Activation energy to try [J/mol].
    curves : sequence of (time, temperature, density)
        Dilatometer runs, arrays (n,) each; density must rise.
    levels : array (m,)
        Densities at which they are compared; each run must pass them all.
    """
    wanted = np.asarray(levels, float)
    works = []
    for time, temperature, density in curves:
        if density[0] > wanted.min() or density[-1] < wanted.max():
            raise LawError(
                f"a run from {density[0]:g} to {density[-1]:g} does not pass all densities compared"
            )
        log_work = np.log(np.maximum(arrhenius.work(time, temperature, energy), 1e-300))
        works.append(np.interp(wanted, density, log_work))
    return float(np.mean(np.var(np.array(works), axis=0)))


def energy_by_collapse(
    curves: Sequence[Curve], levels: ArrayLike, least: float = 50e3, most: float = 1200e3
) -> float:
    """Activation energy at which runs at different heating rates fall on one master curve [J/mol].

    Source
    ------
    Su and Johnson, J. Am. Ceram. Soc. 79 (1996) 3211: the energy that minimises `scatter`.
    """
    from scipy.optimize import minimize_scalar

    best = minimize_scalar(
        scatter, bounds=(least, most), args=(curves, levels), method="bounded", options={"xatol": 1.0}
    )
    return float(best.x)
