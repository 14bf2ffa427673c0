"""The quickest heating that keeps the burnout rate below a bound: first order, slab. All SI."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.constants import R

from sagger.errors import LawError
from sagger.physics.burnout.binder_loss import Flow

Array = NDArray[np.float64]
STEP_K = 2.0  # of temperature per step while nothing holds the heating back [K]
SHARE = 0.002  # of the binder that leaves per step at the bound
SETTLED = 1e-6  # change of temperature at which the bound's is found [K]
MOST = 100_000  # steps


class Bound(NamedTuple):
    """What the rate at which the share gone grows must not exceed: the smaller of two."""

    loss: float  # [1/s]
    pressed: float  # that rate times temperature, from the pressure allowed [K/s]

    def at(self, temperature: float) -> float:
        """The bound at a temperature [1/s]."""
        return min(self.loss, self.pressed / temperature)

    def times(self, factor: float) -> Bound:
        """A tighter or looser bound."""
        return Bound(self.loss * factor, self.pressed * factor)


def pressed(allowed: float, half: float, binder: float, flow: Flow, outside: float) -> float:
    """Rate at which the share gone may grow times temperature, so that an overpressure is kept [K/s].

    Parameters
    ----------
    allowed : float
        Overpressure in the middle of a slab [Pa].
    half, binder : float
        Half its thickness [m]; mass of binder per volume of it [kg/m3].
    flow, outside
        As in `burnout.overpressure`, of which this is the inverse.
    """
    room = (allowed + outside) ** 2 - outside**2
    return float(room * flow.permeability * flow.molar_mass / (flow.viscosity * R * half**2 * binder))


class Pace(NamedTuple):
    time: Array  # (n,) [s]
    temperature: Array  # (n,) [K]
    gone: Array  # (n,) share of the binder [-]


def quickest(start: float, end: float, heating: float, bound: Bound, energy: float, frequency: float) -> Pace:
    """The path from `start` to `end` [K], never cooling, that is nowhere faster than either limit allows.

    Parameters
    ----------
    heating : float
        Highest heating rate [K/s].
    bound : Bound
    energy, frequency : float
        First-order kinetics: E [J/mol], A [1/s].

    Raises
    ------
    LawError
        If a limit is not above 0, or the bound is so low that the path does not end.

    Source
    ------
    Rate-controlled burnout: heated at full rate until A (1 - gone) exp(-E/RT) meets the bound, then held to
    it. No path under both limits is shorter: the rate is at its bound whenever the heating is not.
    """
    if min(heating, bound.loss, bound.pressed) <= 0 or not 0 < start < end:
        raise LawError(f"heating, bounds and temperatures must rise from above 0: {heating:g}, {bound}")
    rows = [(0.0, start, 0.0)]
    while rows[-1][1] < end:
        if len(rows) > MOST:
            raise LawError("the bound on burnout is so low that the binder never leaves; raise it")
        time, here, gone = rows[-1]
        held = _held(bound, gone, here, energy, frequency)
        share = min(SHARE, (1 - gone) / 100)
        step = STEP_K / heating if here + STEP_K <= held else share / bound.at(here)
        there = min(here + heating * step, max(here, held), end)
        step = max((there - here) / heating, step if there < end else 0.0)
        left = (1 - gone) * math.exp(-frequency * step * _mean_factor(here, there, energy))
        rows.append((time + step, there, 1 - left))
    return Pace(*(np.array(column) for column in zip(*rows, strict=True)))


def _held(bound: Bound, gone: float, guess: float, energy: float, frequency: float) -> float:
    """Temperature at which the rate is at its bound [K]; inf once so little is left that it never is."""
    here = guess
    for _ in range(100):
        ratio = frequency * (1 - gone) / bound.at(here)
        if ratio <= 1:
            return math.inf
        there = float(energy / (R * math.log(ratio)))
        if abs(there - here) < SETTLED:
            return there
        here = there
    return here


def _mean_factor(here: float, there: float, energy: float) -> float:
    """Mean of exp(-E/RT) along a short straight step (Simpson)."""
    middle = (here + there) / 2
    ends = math.exp(-energy / (R * here)) + math.exp(-energy / (R * there))
    return (ends + 4 * math.exp(-energy / (R * middle))) / 6
