"""What finite elements take from cards and factors: the run as the body feels it, lengths, weight, setter."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray
from scipy.constants import R, g

from sagger.goods.factors import Factors
from sagger.goods.finding import Finding
from sagger.goods.furnace import Furnace
from sagger.goods.powder import Powder, Sintering
from sagger.physics import solid
from sagger.stations.sinter.law import followed, known
from sagger.stations.sinter.path import limited, melts, path

HALF = 0.5  # share of the decay that factors imply; a programme that gives less does not sinter the part
FAR_TOO_MUCH = 10.0  # decay beyond what is needed: the part creeps as a dense body e^10 times over
OFFSETS = 9  # temperatures for which the run is summed up


class Uneven(NamedTuple):
    """Gradients along x, y, z as the part stands, zero in its middle."""

    temperature: tuple[float, float, float] = (0.0, 0.0, 0.0)  # [K/m]
    density: tuple[float, float, float] = (0.0, 0.0, 0.0)  # of green relative density [1/m]


class Firing(NamedTuple):
    setting: solid.Setting
    green_density: float  # that mass, size factors and final density agree on [-]
    final_density: float
    findings: tuple[Finding, ...]  # a "stop" among them: nothing is to be fired


def firing(
    powder: Powder,
    card: Sintering,
    furnace: Furnace,
    factors: Factors,
    hottest: float = 0.0,
    supports: tuple[solid.Support, ...] = (),
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
    course = _course(way.time, way.temperature, card, hottest)
    middle = course.decay[len(course.offsets) // 2, -1]
    found = (*melts(programme, card, furnace), *_refused(start, needed, float(middle), factors))
    if needed and middle > 0:
        course = course._replace(
            fluidity=course.fluidity * needed / middle, decay=course.decay * needed / middle
        )
    shrinkage = 1 - 1 / np.asarray(factors.k)
    ratios = shrinkage[1:] / shrinkage[0] if shrinkage.min() > 1e-3 else np.ones(2)
    setting = solid.Setting(
        course=course,
        weight=powder.solid_density.value * g,
        setter=solid.Setter(furnace.friction.value, supports),
        shrinks=solid.shrink(*(float(each) for each in ratios)),
        end_density=max(card.end_density.value, final),
    )
    stops = tuple(each for each in limits if each.level == "stop")
    return Firing(setting, start, final, (*stops, *found))


def _course(time: ndarray, kelvin: ndarray, card: Sintering, hottest: float) -> solid.Course:
    """Fluidity and decay along the programme, for some temperatures about it."""
    law = known(card)
    offsets = np.linspace(-hottest, hottest, OFFSETS) if hottest > 0 else np.zeros(1)
    fluid, decay = [], []
    for offset in offsets:
        hot = kelvin + offset
        energy = card.activation_energy.value
        viscosity = card.viscosity_factor.value * hot * np.exp(np.minimum(energy / (R * hot), 600.0))
        radius = np.full_like(time, card.capillary_radius.value)
        if card.coarsening is not None:
            grain = followed(_Way(time, kelvin), law, law.values, float(offset))[1]  # type: ignore[arg-type]
            if grain is not None:
                growth = grain / card.coarsening.grain.value
                viscosity = viscosity * growth**card.coarsening.exponent.value
                radius = radius * growth
        fluid.append(1 / viscosity)
        decay.append(9 * card.surface_energy.value / (4 * viscosity * radius))
    return solid.fired(time, np.array(fluid), np.array(decay), offsets)


class _Way(NamedTuple):
    time: ndarray
    temperature: ndarray


def _refused(start: float, needed: float, given: float, factors: Factors) -> tuple[Finding, ...]:
    what, text, remedy = "", "", ""
    if not needed:
        what = "factors and density"
        text = (
            f"Oversize factors of {', '.join(f'{k:.3f}' for k in factors.k)} mean a green density of "
            f"{start:.1%}, which no body sinters from."
        )
        remedy = "Correct the factors, or the card's sintered density."
    elif given < HALF * needed:
        what = "does not sinter"
        text = (
            f"The programme closes {1 - np.exp(-given):.0%} of the pores; the oversize factors count on "
            f"{1 - np.exp(-needed):.0%}."
        )
        remedy = (
            "Fire hotter or longer; print at these factors only for a programme that reaches their density."
        )
    elif given > needed + FAR_TOO_MUCH:
        what = "fired far too hot"
        text = (
            f"The programme does {given / needed:.0f} times the sintering that is needed: the part would "
            "flow away under its own weight."
        )
        remedy = "Lower the peak or shorten the hold."
    return (Finding(level="stop", what=what, text=text, source="viscous law", remedy=remedy),) if what else ()
