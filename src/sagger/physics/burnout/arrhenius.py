"""Rate constants summed along a furnace programme made of straight lines, exactly."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.constants import R
from scipy.special import exp1

from sagger.errors import LawError

Array = NDArray[np.float64]
NEARLY_LEVEL = (
    1e-7  # relative change of T on a stretch below which the difference of closed forms loses digits
)


def exposure(time: ArrayLike, temperature: ArrayLike, energy: float) -> Array:
    """Integral of exp(-E/RT) over time, from the first point of a path up to each [s].

    Parameters
    ----------
    time, temperature : array (n,)
        Corners of the path [s], [K]; straight in between.
    energy : float
        Activation energy E [J/mol].

    Raises
    ------
    LawError
        If the path is not one, or the energy is not positive.

    Source
    ------
    Exact on each stretch: [T exp(-E/RT) - (E/R) E1(E/RT)] / rate, with E1 the exponential integral.
    """
    return _summed(
        time,
        temperature,
        energy,
        lambda kelvin, x: kelvin * np.exp(-x) - kelvin * x * exp1(x),
        lambda kelvin, x: np.exp(-x),
    )


def work(time: ArrayLike, temperature: ArrayLike, energy: float) -> Array:
    """Integral of exp(-Q/RT) / T over time, from the first point of a path up to each [s/K].

    Parameters
    ----------
    time, temperature : array (n,)
        Corners of the path [s], [K]; straight in between.
    energy : float
        Activation energy Q [J/mol].

    Raises
    ------
    LawError
        If the path is not one, or the energy is not positive.

    Source
    ------
    The work of sintering of Su and Johnson, J. Am. Ceram. Soc. 79 (1996) 3211; exact on each stretch:
    E1(Q/RT) / rate, with E1 the exponential integral.
    """
    return _summed(
        time, temperature, energy, lambda kelvin, x: exp1(x), lambda kelvin, x: np.exp(-x) / kelvin
    )


def _summed(
    time: ArrayLike,
    temperature: ArrayLike,
    energy: float,
    whole: Callable[[Array, Array], Array],
    rate: Callable[[Array, Array], Array],
) -> Array:
    """`rate` summed over time, by its integral over temperature `whole` where the path slopes."""
    t, kelvin = np.asarray(time, float), np.asarray(temperature, float)
    if t.shape != kelvin.shape or t.ndim != 1 or t.size < 2:
        raise LawError(
            f"a path needs two or more times and as many temperatures, got {t.shape}, {kelvin.shape}"
        )
    if np.any(np.diff(t) < 0) or np.any(kelvin <= 0) or energy <= 0:
        raise LawError("times must not go back; temperatures and the activation energy must be above zero")
    x = energy / (R * kelvin)
    step, slope = np.diff(t), np.diff(kelvin)
    level = np.abs(slope) <= NEARLY_LEVEL * kelvin[:-1]
    middle = (kelvin[:-1] + kelvin[1:]) / 2
    flat = step * rate(middle, energy / (R * middle))
    sloped = np.diff(whole(kelvin, x)) * step / np.where(level, 1.0, slope)
    return np.concatenate(([0.0], np.cumsum(np.where(level, flat, sloped))))
