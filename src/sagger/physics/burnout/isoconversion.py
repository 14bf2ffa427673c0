"""Activation energy from runs at several heating rates: straight lines through points of equal conversion."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.constants import R

from sagger.errors import LawError

DOYLE = 1.052  # slope of Doyle's approximation of the temperature integral (memory)


class Energy(NamedTuple):
    """An activation energy [J/mol] and its standard uncertainty, nan from only two runs."""

    value: float
    u: float


def friedman(temperatures: ArrayLike, rates: ArrayLike) -> Energy:
    """Activation energy from the rates of conversion at one conversion, one point per run.

    Parameters
    ----------
    temperatures : (n,) float
        At which each run reaches the conversion [K].
    rates : (n,) float
        Of conversion there [1/s].

    Source
    ------
    Friedman, J. Polym. Sci. C 6 (1964) 183 (memory): ln(rate) against 1/T falls by E/R; exact for whatever
    law of conversion, but as noisy as the rates are.
    """
    kelvin, rate = _pairs(temperatures, rates)
    return _from_slope(kelvin, np.log(rate), 1.0)


def kas(heating: ArrayLike, temperatures: ArrayLike) -> Energy:
    """Activation energy from the temperatures [K] at which runs at `heating` [K/s] reach one conversion.

    Source
    ------
    Kissinger, Akahira and Sunose (memory): ln(heating / T^2) against 1/T falls by E/R; within about 1 % for
    E/RT above 15. With peaks for temperatures it is Kissinger's method, exact for first order.
    """
    kelvin, rate = _pairs(temperatures, heating)
    return _from_slope(kelvin, np.log(rate / kelvin**2), 1.0)


def ozawa(heating: ArrayLike, temperatures: ArrayLike) -> Energy:
    """As `kas`, by Doyle's approximation.

    Source
    ------
    Ozawa, Bull. Chem. Soc. Jpn. 38 (1965) 1881; Flynn and Wall (memory): ln(heating) against 1/T falls by
    1.052 E/R; a few per cent off for E/RT below 20 and above 60.
    """
    kelvin, rate = _pairs(temperatures, heating)
    return _from_slope(kelvin, np.log(rate), DOYLE)


def _pairs(temperatures: ArrayLike, rates: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    kelvin, rate = np.asarray(temperatures, float), np.asarray(rates, float)
    if kelvin.shape != rate.shape or kelvin.ndim != 1 or kelvin.size < 2:
        raise LawError(f"two runs at least, got {kelvin.size} temperatures and {rate.size} rates")
    if kelvin.min() <= 0 or rate.min() <= 0 or np.ptp(kelvin) <= 0:
        raise LawError("temperatures and rates must be above zero, and the temperatures must differ")
    return kelvin, rate


def _from_slope(kelvin: NDArray[np.float64], log: NDArray[np.float64], factor: float) -> Energy:
    """Least squares; the uncertainty is that of the slope, from what is left over."""
    x = 1 / kelvin - np.mean(1 / kelvin)
    slope = float(x @ log / (x @ x))
    left = log - log.mean() - slope * x
    spare = len(kelvin) - 2
    u = math.sqrt(float(left @ left) / spare / float(x @ x)) if spare else math.nan
    return Energy(-slope * R / factor, u * R / factor)
