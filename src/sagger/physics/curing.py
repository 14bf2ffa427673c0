"""How far a binder has cured. All SI, temperatures in kelvin."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import exp, log

import numpy as np
from scipy.constants import R
from scipy.integrate import cumulative_simpson, quad

from sagger.errors import LawError
from sagger.physics.conduction import Block, temperature

STRETCHES = 60
STEPS = 1000
History = Callable[[np.ndarray], np.ndarray]


def arrhenius(energy: float, temperature: float, reference: float) -> float:
    """How much faster a reaction runs at `temperature` than at `reference` [K], for `energy` [J/mol].

    Source: Arrhenius.
    """
    return exp(-energy / R * (1 / temperature - 1 / reference))


def first_order_rate(time: float, degree: float = 0.95) -> float:
    """Rate constant of a first-order cure that reaches `degree` in `time` [1/s]."""
    return -log(1 - degree) / time


def prefactor(time: float, energy: float, temperature: float, degree: float = 0.95) -> float:
    """Arrhenius factor of a first-order cure that reaches `degree` in `time` [s] at `temperature`, [1/s]."""
    return first_order_rate(time, degree) * exp(energy / (R * temperature))


def time_to_degree(degree: float, temperature: float, time: float, energy: float, reference: float) -> float:
    """Time to a degree of cure at one temperature [s], first order.

    Parameters
    ----------
    degree : float
        Asked, between 0 and 1 [-].
    temperature : float
        Held [K].
    time, energy, reference : float
        The binder: 95 % cured in `time` [s] at `reference` [K]; activation energy [J/mol].

    Source: first-order kinetics.
    """
    rate = first_order_rate(time) * arrhenius(energy, temperature, reference)
    return -log(1 - degree) / rate


def nth_order(rate: float, time: float, order: float = 1.0) -> float:
    """Degree of cure after `time` at one temperature, from d(a)/dt = k (1 - a)^n.

    Parameters
    ----------
    rate : float
        k [1/s].
    time : float
        [s].
    order : float
        n [-], 1 or more.

    Source: integrated exactly.
    """
    if order < 1:
        raise LawError(f"order of a cure must be 1 or more, got {order:g}")
    if order == 1:
        return 1 - exp(-rate * time)
    return 1 - float((1 + (order - 1) * rate * time) ** (-1 / (order - 1)))


def kamal(first: float, second: float, time: float) -> float:
    """Degree of cure after `time` [s] of a reaction that speeds itself up, (k1 + k2 a)(1 - a).

    Source: Kamal and Sourour, Polym. Eng. Sci. 13 (1973) 59, with m = n = 1; integrated exactly.
    """
    left = exp(-(first + second) * time)
    return (1 - left) / (1 + second / first * left)


def rates(temperature: float, factors: Sequence[float], energies: Sequence[float]) -> tuple[float, ...]:
    """Rate constants at a temperature [1/s], from Arrhenius factors [1/s] and energies [J/mol]."""
    pairs = zip(factors, energies, strict=True)
    return tuple(factor * exp(-energy / (R * temperature)) for factor, energy in pairs)


def epoxy_time(
    degree: float, temperature: float, factors: Sequence[float], energies: Sequence[float]
) -> float:
    """Time to a degree of cure of an amine-cured epoxy at one temperature [s].

    Parameters
    ----------
    degree : float
        Asked [-].
    temperature : float
        Held [K].
    factors, energies : 3 float
        Of k1, k2, k3 [1/s], [J/mol].

    Source
    ------
    Lee, Loos, Springer, J. Compos. Mater. 16 (1982) 510 (form from memory):
    (k1 + k2 a)(1 - a)(0.47 - a) up to a = 0.3, k3 (1 - a) above.
    """
    first, second, third = rates(temperature, factors, energies)
    turn = min(degree, 0.3)
    early, _ = quad(lambda a: 1 / ((first + second * a) * (1 - a) * (0.47 - a)), 0.0, turn)
    return float(early) + log((1 - turn) / (1 - degree)) / third


def equivalent_time(
    times: np.ndarray | Sequence[float],
    temperatures: np.ndarray | Sequence[float],
    energy: float,
    reference: float,
) -> np.ndarray:
    """Time at `reference` that would have cured as much, after each of `times` [s].

    Parameters
    ----------
    times, temperatures : array (n,)
        History of one place [s], [K].
    energy : float
        Activation energy [J/mol].
    reference : float
        [K].

    Returns
    -------
    ndarray (n,)

    Source: integral of the Arrhenius factor, by Simpson's rule.
    """
    speed = np.exp(-energy / R * (1 / np.asarray(temperatures) - 1 / reference))
    return np.asarray(cumulative_simpson(speed, x=np.asarray(times), initial=0.0))


def first_order_degree(equivalent: np.ndarray | float, time: float) -> np.ndarray:
    """Degree of cure after an equivalent time, of a binder that is 95 % cured in `time` [s]."""
    return np.asarray(1 - np.exp(-first_order_rate(time) * np.asarray(equivalent)))


def time_to_equivalent(
    history: History, needed: float, energy: float, reference: float, guess: float
) -> float:
    """When one place has seen `needed` seconds at `reference` [s].

    Parameters
    ----------
    history : callable
        Temperature [K] at each of the times [s] it is given.
    needed : float
        Equivalent time asked [s].
    energy, reference : float
        [J/mol], [K].
    guess : float
        Where to begin looking [s].

    Raises
    ------
    LawError
        If it is not reached in some 10^10 times the guess.
    """
    late = guess
    for _ in range(STRETCHES):
        times = np.linspace(0.0, late, STEPS + 1)
        seen = equivalent_time(times, history(times), energy, reference)
        if seen[-1] < needed:
            late *= 1.5
        elif seen[STEPS // 2] > needed:
            late /= 2  # too coarse a grid for so early an answer
        else:
            return float(np.interp(needed, seen, times))
    what = f"{needed:g} s at {reference:g} K are not reached in {late:g} s"
    raise LawError(f"{what}; raise the oven's set point")


def cure_time(block: Block, depth: Sequence[float], needed: float, energy: float, reference: float) -> float:
    """When one place in a block has seen `needed` seconds at `reference` [s].

    Parameters
    ----------
    block, depth
        As in `conduction.temperature`.
    needed, energy, reference : float
        As in `time_to_equivalent`.
    """
    guess = min(block.half_sides) ** 2 / block.diffusivity
    return time_to_equivalent(lambda t: temperature(block, depth, t), needed, energy, reference, guess)


def seen_time(block: Block, depth: Sequence[float], time: float, energy: float, reference: float) -> float:
    """Time at `reference` that has cured one place in a block as much as `time` in the oven [s].

    Parameters as in `cure_time`.
    """
    times = np.linspace(0.0, time, STEPS + 1)
    return float(equivalent_time(times, temperature(block, depth, times), energy, reference)[-1])
