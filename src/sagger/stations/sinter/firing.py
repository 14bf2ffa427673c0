"""What finite elements take from cards and factors: the run as the body feels it, lengths, weight, setter."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray
from scipy.constants import R, g
from scipy.optimize import brentq

from sagger.goods.factors import Factors
from sagger.goods.finding import Against, Finding, risk, stop
from sagger.goods.furnace import Furnace
from sagger.goods.powder import Powder, Sintering
from sagger.physics import solid
from sagger.stations.sinter.law import followed, gas, known
from sagger.stations.sinter.path import Path, limited, melts, path

HALF = 0.5  # share of the decay that factors imply; a programme that gives less does not sinter the part
FAR_TOO_MUCH = 10.0  # decay beyond what is needed: the part creeps as a dense body e^10 times over
MOST_MORE = 20.0  # times the decay that gas in closed pores may cost
OFFSETS = 9  # temperatures for which the run is summed up


class Uneven(NamedTuple):
    """Gradients along x, y, z as the part stands, zero in its middle."""

    temperature: tuple[float, float, float] = (0.0, 0.0, 0.0)  # [K/m]
    density: tuple[float, float, float] = (0.0, 0.0, 0.0)  # of green relative density [1/m]


class Firing(NamedTuple):
    setting: solid.FiringSetting
    green_density: float  # that mass, size factors and final density agree on [-]
    final_density: float
    findings: tuple[Finding, ...]  # a "stop" among them: nothing is to be fired


def firing(
    powder: Powder,
    card: Sintering,
    furnace: Furnace,
    factors: Factors,
    hottest: float = 0.0,
) -> Firing:
    """How a part is fired.

    The factors rule: the viscosity of the law is scaled so that the programme ends at the density they imply,
    and without its weight a part comes out at nominal exactly. A programme that is far off is refused.

    Parameters
    ----------
    hottest : float
        Largest difference of temperature within the part that has to be covered [K].
    """
    programme, limits = limited(card.programme, furnace)
    final = min(card.sintered_density.value, 0.995)
    start = final / float(np.prod(factors.k))
    needed = float(np.log((1 - start) / (1 - final))) if 1 / 3 <= start < final else 0.0
    way = path(programme, furnace)
    course = _course(way, card, gas(programme, way), hottest)
    middle = course.decay[len(course.offsets) // 2, -1]
    noticed = (*melts(programme, card, furnace), *_refused(start, needed, float(middle), factors))
    if needed and middle > 0:
        course, held = _scaled(course, needed / middle, start, final)
        noticed = (*noticed, *held)
    shrinkage = 1 - 1 / np.asarray(factors.k)
    ratios = shrinkage[1:] / shrinkage[0] if shrinkage.min() > 1e-3 else np.ones(2)
    setting = solid.FiringSetting(
        course=course,
        weight=powder.solid_density.value * g,
        setter=solid.Setter(furnace.friction.value),
        shrinks=solid.shrink(*(float(ratio) for ratio in ratios)),
        end_density=max(card.end_density.value, final),
    )
    stops = tuple(limit for limit in limits if limit.level == "stop")
    return Firing(setting, start, final, (*stops, *noticed))


def _scaled(
    course: solid.FurnaceCourse, share: float, start: float, final: float
) -> tuple[solid.FurnaceCourse, tuple[Finding, ...]]:
    """The course with the viscosity that ends at the density factors imply, gas in closed pores included."""

    def by(factor: float) -> solid.FurnaceCourse:
        return course._replace(fluidity=course.fluidity * factor, decay=course.decay * factor)

    def short(factor: float) -> float:
        assert course.shut is not None
        return final - solid.end(start, factor * course.decay[len(course.offsets) // 2], course.shut)

    if course.shut is None or short(share) < 1e-9:
        return by(share), ()
    if short(MOST_MORE * share) < 0:
        return by(float(brentq(short, share, MOST_MORE * share, rtol=1e-10))), ()
    ends = final - short(share)
    return by(share), (
        risk(
            "gas in closed pores",
            f"Gas shut in the pores ends densification at {ends:.1%}; the oversize factors count on "
            f"{final:.1%}, so the part comes out {(final / ends) ** (1 / 3) - 1:.2%} too large.",
            Against(ends * 100, final * 100, "%", "ideal gas, closed pores on the powder card"),
            "Close the pores in hydrogen or vacuum, or measure and correct the factors.",
        ),
    )


def _course(way: Path, card: Sintering, pressure: ndarray, hottest: float) -> solid.FurnaceCourse:
    """Fluidity and decay along the programme, for some temperatures about it; gas if the card tells."""
    law, time, kelvin = known(card), way.time, way.temperature
    offsets = np.linspace(-hottest, hottest, OFFSETS) if hottest > 0 else np.zeros(1)
    fluid, decay = [], []
    for offset in offsets:
        hot = kelvin + offset
        energy = card.activation_energy.value
        viscosity = card.viscosity_factor.value * hot * np.exp(np.minimum(energy / (R * hot), 600.0))
        radius = np.full_like(time, card.capillary_radius.value)
        if card.coarsening is not None:
            grain = followed(way, law, law.values, float(offset), pressure)[1]
            if grain is not None:
                growth = grain / card.coarsening.grain.value
                viscosity = viscosity * growth**card.coarsening.exponent.value
                radius = radius * growth
        fluid.append(1 / viscosity)
        decay.append(9 * card.surface_energy.value / (4 * viscosity * radius))
    course = solid.fired(time, np.array(fluid), np.array(decay), offsets)
    pores = card.closed_pores
    if pores is None or not pressure.any():
        return course
    capillary = 2 * card.surface_energy.value / pores.radius.value
    return course._replace(shut=solid.Shut(pores.closure.value, capillary, kelvin, pressure))


def _refused(start: float, needed: float, given: float, factors: Factors) -> tuple[Finding, ...]:
    title, text, remedy = "", "", ""
    if not needed:
        title = "factors and density"
        text = (
            f"Oversize factors of {', '.join(f'{k:.3f}' for k in factors.k)} mean a green density of "
            f"{start:.1%}, which no body sinters from."
        )
        remedy = "Correct the factors, or the card's sintered density."
    elif given < HALF * needed:
        title = "does not sinter"
        text = (
            f"The programme closes {1 - np.exp(-given):.0%} of the pores; the oversize factors count on "
            f"{1 - np.exp(-needed):.0%}."
        )
        remedy = (
            "Fire hotter or longer; print at these factors only for a programme that reaches their density."
        )
    elif given > needed + FAR_TOO_MUCH:
        title = "fired far too hot"
        text = (
            f"The programme does {given / needed:.0f} times the sintering that is needed: the part would "
            "flow away under its own weight."
        )
        remedy = "Lower the peak or shorten the hold."
    return (stop(title, text, Against(source="viscous law"), remedy),) if title else ()
