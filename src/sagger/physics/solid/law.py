"""What a porous body wants to do in one step of a furnace run: viscous moduli and free shrinkage. SI.

Signs: tension and expansion count positive. A step is a gain of fluidity F = integral of dt / viscosity
[1/Pa] and of decay D = integral of 9 alpha / (4 viscosity r) dt [-]; hours and kelvin do not enter again.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from sagger.errors import LawError
from sagger.physics.solid.stiffness import StepModuli

Array = np.ndarray
LEAST_POROSITY = 1e-3
MOST_BULK = 20.0  # bulk over shear modulus: stiffer costs iterations and changes sag by 0.15 %
MOST_LOCAL = 10.0  # of it on the full strain: more would lock bending


class Shrink(NamedTuple):
    """Free length of a body along x, y, z while it densifies: logarithms over ln(density / green)."""

    gain: Array  # float64 (k,): ln(density / green density), rising from 0
    length: Array  # float64 (k, 3): ln(length / green length)


class StepWish(NamedTuple):
    moduli: StepModuli
    strain: Array  # float64 (m, 3): free increments, measured in the middle of the step
    log_length: Array  # float64 (m, 3): the same as ln(length after / before)
    drive: Array  # float64 (m,): sintering stress, gas left out [Pa]


def shrink(ratio_y: float = 1.0, ratio_z: float = 1.0) -> Shrink:
    """Lengths along x, y, z when shrinkages keep the ratios s_y / s_x and s_z / s_x.

    Source
    ------
    Mass balance: (1 - s)(1 - ratio_y s)(1 - ratio_z s) = green over density, solved by Newton.
    """
    if min(ratio_y, ratio_z) <= 0:
        raise LawError(f"shrinkage ratios must be positive, got {ratio_y:g} and {ratio_z:g}")
    gain = np.linspace(0, np.log(4.0), 400)
    ratios = np.array([1.0, ratio_y, ratio_z])
    s = np.zeros_like(gain)
    for _ in range(60):
        terms = 1 - ratios * s[:, None]
        wrong = np.log(terms).sum(axis=1) + gain
        s = np.minimum(s + wrong / (ratios / terms).sum(axis=1), 0.999 / ratios.max())
    return Shrink(gain, np.log(1 - ratios * s[:, None]))


def wish(
    porosity: Array,
    green: Array,
    gained: tuple[Array, Array, Array],
    shrinks: Shrink,
    floor: float = LEAST_POROSITY,
    most_bulk: float = MOST_BULK,
) -> StepWish:
    """Moduli and free strain of every brick for one step.

    Parameters
    ----------
    porosity : float64 (m,)
        In the middle of the step [-].
    green : float64 (m,)
        Relative density before sintering [-].
    gained : three float64 (m,)
        Fluidity and decay of the step [1/Pa], [-]; and by how much ln porosity falls freely, which gas in
        closed pores makes less than the decay [-].
    floor : float
        Porosity at which densification ends [-].
    most_bulk : float
        Of the bulk over the shear modulus.

    Source
    ------
    Olevsky, Mater. Sci. Eng. R 23 (1998) 41, with the functions of density of Lester, SAND2017-12933R,
    table 1: shear (1 - p)^2, bulk (4/3) (1 - p)^3 / p by viscosity, sintering stress (3 alpha / r) (1 - p)^2.
    The bulk modulus is the sintering stress over the free strain of the whole step, so that free sintering
    comes out exactly in any number of steps; derived.
    """
    fluidity, decay, closing = gained
    before = porosity * np.exp(closing / 2)
    after = np.maximum(porosity * np.exp(-closing / 2), np.minimum(before, floor))
    lengths = _length(after, green, shrinks) - _length(before, green, shrinks)
    strain = 2 * np.tanh(lengths / 2)  # = 2 (l - 1) / (l + 1)
    swell = strain.sum(axis=1)
    solid = 1 - porosity
    shear = solid**2 / fluidity
    drive = 4 / 3 * decay / fluidity * solid**2
    moving = swell < -1e-9
    pulling = 4 / 3 * closing / fluidity * solid**2  # less the gas
    bulk = np.where(moving, pulling / np.where(moving, -swell, 1.0), 4 / 3 * solid**3 / porosity / fluidity)
    bulk = np.minimum(bulk, most_bulk * shear)
    pull = -2 * shear[:, None] * (strain - swell[:, None] / 3) - (bulk * swell)[:, None]
    local = np.minimum(bulk, MOST_LOCAL * shear)
    return StepWish(StepModuli(shear, bulk, local, np.ascontiguousarray(pull)), strain, lengths, drive)


def _length(porosity: Array, green: Array, shrinks: Shrink) -> Array:
    gain = np.log(np.maximum(1 - porosity, 0.02) / green)
    table = np.column_stack([np.interp(gain, shrinks.gain, each) for each in shrinks.length.T])
    swollen = np.minimum(gain, 0)[:, None] / 3  # looser than green: alike along all axes
    return np.asarray(table - swollen)
