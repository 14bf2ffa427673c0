"""Cure of a binder whose rate follows Arrhenius, by equivalent time. All SI, temperatures in kelvin."""

from __future__ import annotations

from math import log
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.constants import R

from sagger.errors import LawError

Array = NDArray[np.float64]


class CureKinetics(NamedTuple):
    """How the binder cures: d(a)/dt = rate (1 - a)^order, the rate after Arrhenius."""

    energy: float  # activation energy [J/mol]
    reference: float  # [K]
    rate: float  # at the reference [1/s]
    order: float = 1.0  # 1 or more
    asked: float = 0.95  # degree of cure that the coldest piece must reach


def first_order_rate(time: float, degree: float = 0.95) -> float:
    """Rate constant of a first-order cure that reaches `degree` in `time` [1/s]."""
    return -log(1 - degree) / time


def equivalent_needed(kinetics: CureKinetics) -> float:
    """Time at the reference that cures to the degree asked [s].

    Source: d(a)/dt = k (1 - a)^n, integrated exactly.
    """
    left, order = 1 - kinetics.asked, kinetics.order
    if order == 1:
        return -log(left) / kinetics.rate
    return float((left ** (1 - order) - 1) / ((order - 1) * kinetics.rate))


def degree(kinetics: CureKinetics, equivalent: Array | float) -> Array:
    """Degree of cure after an equivalent time at the reference [-], shape of `equivalent`.

    Source: as in `equivalent_needed`.
    """
    passed = kinetics.rate * np.asarray(equivalent)
    if kinetics.order == 1:
        return np.asarray(-np.expm1(-passed))
    return np.asarray(1 - (1 + (kinetics.order - 1) * passed) ** (1 / (1 - kinetics.order)))


def speed(kinetics: CureKinetics, temperature: Array) -> Array:
    """How much faster the cure runs at `temperature` than at the reference [-]. Source: Arrhenius."""
    return np.asarray(np.exp(kinetics.energy / R * (1 / kinetics.reference - 1 / temperature)))


def check(kinetics: CureKinetics) -> None:
    """Raise `LawError` if these are no kinetics."""
    energy, reference, rate, order, asked = kinetics
    if not (min(energy, reference, rate) > 0 and order >= 1 and 0 < asked < 1):
        what = "energy, reference and rate must be above 0, the order 1 or more, the degree from 0 to 1"
        raise LawError(f"{what}; got {kinetics}")
