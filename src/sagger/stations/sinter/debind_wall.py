"""Gas pressure in a wall while the binder leaves it, and what it allows."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy import ndarray
from scipy.constants import atm

from sagger.goods.debinding import DebindingCourse, RateLimit
from sagger.goods.figure import STANDINGS
from sagger.goods.powder import Powder, Segment, Sintering
from sagger.physics.burnout import binder_loss
from sagger.stations.sinter.binder_left import Residue
from sagger.stations.sinter.path import Path
from sagger.statistics import chance

KNOWN_WITHIN = 2.0  # factor to which a bed's permeability is known from its grain; common practice, no source
WALLS, GRAINS = (0.5, 1.0, 2.0), (0.5, 1.0, 2.0)  # of the thickest wall and of d50, in the table of limits


class BinderWall(NamedTuple):
    """A wall with its binder, pores and gas; figures as plain numbers, so that they can be varied."""

    half: float  # half its thickness [m]
    binder: float  # per volume of the wall [kg/m3]
    flow: binder_loss.Flow
    energy: float  # first-order kinetics [J/mol]
    peak: float  # of burnout at the reference rate [K]
    reference: float  # that rate [K/s]

    @property
    def frequency(self) -> float:
        """Frequency factor [1/s]."""
        return binder_loss.frequency(self.energy, self.peak, self.reference)


def wall(thickness: float, powder: Powder, card: Sintering, left: Residue) -> BinderWall:
    """A wall of this thickness, of this powder and binder."""
    dense = card.green_density.value
    pores = binder_loss.permeability(powder.d50.value, 1 - dense)
    return BinderWall(
        half=thickness / 2,
        binder=dense * powder.solid_density.value * left.share,
        flow=binder_loss.Flow(pores, left.viscosity, left.molar_mass),
        energy=card.debind_energy.value,
        peak=card.debind_peak.value,
        reference=card.debind_peak_rate.value,
    )


def course(one: BinderWall, way: Path, programme: Sequence[Segment]) -> DebindingCourse:
    """What the wall goes through until its debinding stage ends."""
    here = way.segment <= stage_end(programme)
    time, kelvin = way.time[here], way.temperature[here]
    gone = binder_loss.gone(time, kelvin, one.energy, one.frequency)
    loss = binder_loss.loss_rate(gone, kelvin, one.energy, one.frequency)
    over = np.zeros_like(loss)
    for outside, there in surroundings(way.segment[here], programme):
        over[there] = binder_loss.overpressure(
            one.binder * loss[there], one.half, kelvin[there], one.flow, outside
        )
    worst = int(np.argmax(over))
    return DebindingCourse(
        time=float(time[-1]),
        overpressure=float(over[worst]),
        hottest=float(kelvin[worst]),
        loss=float(loss.max()),
        gone=float(gone[-1]),
    )


def stage_end(programme: Sequence[Segment]) -> int:
    """Index of the last debinding stretch; of the last of all if the programme names none."""
    stages = [index for index, segment in enumerate(programme) if segment.stage == "debinding"]
    return stages[-1] if stages else len(programme) - 1


def surroundings(segment: ndarray, programme: Sequence[Segment]) -> list[tuple[float, ndarray]]:
    """Pressure around the load, and where along the path it holds."""
    vacuum = np.array([outside(each) == 0 for each in programme] + [False])[segment]
    return [(0.0, vacuum), (atm, ~vacuum)]


def outside(segment: Segment) -> float:
    """Pressure around the load in one stretch [Pa]."""
    return 0.0 if segment.atmosphere == "vacuum" else atm


def rate_limit(one: BinderWall, allowed: float, around: float) -> float:
    """Steady heating rate through burnout at which the pressure allowed is reached [K/s]."""
    slab = binder_loss.BinderSlab(one.half, one.binder, one.flow)
    return binder_loss.fastest_heating(allowed, slab, one.peak, one.energy, around)


def rate_limits(one: BinderWall, grain: float, allowed: float, around: float) -> tuple[RateLimit, ...]:
    """The same for thinner and thicker walls, and finer and coarser powder: as 1/wall^2 and d50^2."""
    now = rate_limit(one, allowed, around)
    return tuple(
        RateLimit(wall=2 * one.half * thick, grain=grain * coarse, rate=now * coarse**2 / thick**2)
        for coarse in GRAINS
        for thick in WALLS
    )


def thickest(one: BinderWall, found: DebindingCourse, allowed: float, around: float) -> float:
    """Thickest wall that bears the same programme [m]; the rise of pressure squared goes with its square."""
    rise = (found.overpressure + around) ** 2 - around**2
    if rise <= 0:
        return math.inf
    return 2 * one.half * math.sqrt(((allowed + around) ** 2 - around**2) / rise)


def uncertainty(
    one: BinderWall, way: Path, programme: Sequence[Segment], card: Sintering, around: float
) -> tuple[float, float]:
    """Standard uncertainty of the highest overpressure [Pa] and of the rate limit [K/s].

    From the card's energy and peak, and from the permeability, taken as known within a factor of two.
    """

    def ends(at: ndarray) -> ndarray:
        looser = one.flow._replace(permeability=one.flow.permeability * math.exp(at[2]))
        other = one._replace(energy=float(at[0]), peak=float(at[1]), flow=looser)
        pressure = course(other, way, programme).overpressure
        return np.array([pressure, rate_limit(other, card.debind_overpressure.value, around)])

    values = (one.energy, one.peak, 0.0)
    u = (card.debind_energy.u, card.debind_peak.u, chance.rectangular(math.log(KNOWN_WITHIN)))
    spread = chance.combined_by_result(chance.propagated(ends, values, u))
    return float(spread[0]), float(spread[1])


def weakest(powder: Powder, card: Sintering) -> str:
    """Standing of the weakest figure that the pressure rests on."""
    figures = (
        powder.d50,
        powder.solid_density,
        card.green_density,
        card.debind_energy,
        card.debind_peak,
        card.debind_overpressure,
    )
    return max((figure.standing for figure in figures), key=STANDINGS.index)
