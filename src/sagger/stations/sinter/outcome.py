"""What the piece will be after the programme: density, size, and how sure that is."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.goods.finding import Finding
from sagger.goods.furnace import Furnace
from sagger.goods.powder import Sintering
from sagger.physics import chance, densify, shrinkage
from sagger.stations.sinter.path import Path

COVERAGE = 2.0  # expanded uncertainty at about 95 % (JCGM 100, 6.3.3)
HAIR = 1e-3  # densities closer than this change a length by 0.03 %: not worth a word


class Outcome(NamedTuple):
    density: ndarray  # (n,) along the path [-]
    final: float
    final_u: float
    ratio: ndarray  # (3,) finished over green [-]
    ratio_u: ndarray  # (3,)


def outcome(way: Path, card: Sintering, furnace: Furnace) -> Outcome:
    """Density along the path, final density and size ratios, each with its standard uncertainty.

    Contributions: every figure of the card with its own uncertainty, and the furnace's uniformity as a
    rectangular error of temperature, common to the whole run. Figures count as independent.

    Source
    ------
    `densify.densified`, `shrinkage.ratios`; JCGM 100:2008, 5.1.3 note 2.
    """
    figures = (
        card.green_density,
        card.end_density,
        card.surface_energy,
        card.capillary_radius,
        card.viscosity_factor,
        card.activation_energy,
        card.anisotropy_y,
        card.anisotropy_z,
    )
    values = [figure.value for figure in figures] + [0.0]
    u = [figure.u for figure in figures] + [chance.rectangular(furnace.uniformity.value)]

    def ends(at: ndarray) -> ndarray:
        final = _density(way, at)[-1]
        return np.array([final, *shrinkage.ratios(at[0], final, at[6], at[7])])

    density = _density(way, np.array(values))
    at_end = ends(np.array(values))
    spread = np.sqrt(np.sum(chance.propagated(ends, values, u) ** 2, axis=0))
    return Outcome(density, float(at_end[0]), float(spread[0]), at_end[1:], spread[1:])


def _density(way: Path, at: ndarray) -> ndarray:
    """Relative density along the path, capped at the card's end density."""
    green, end, surface, radius, factor, energy, _, _, warmer = at
    decay = densify.decay(way.time, way.temperature + warmer, surface, radius, factor, energy)
    return np.asarray(np.minimum(densify.densified(green, decay), max(end, green)))


def against_card(found: Outcome, card: Sintering) -> Finding:
    """Whether the law with this furnace's programme and the card's own sintered density agree."""
    stated = card.sintered_density
    apart = found.final - stated.value
    allowed = max(COVERAGE * chance.combined((found.final_u, stated.u)), HAIR)
    agree = abs(apart) <= allowed
    return Finding(
        level="ok" if agree else "look",
        what="sintered density",
        text=f"The programme gives {found.final:.1%} by the viscous law, the card states {stated.value:.1%}; "
        + ("they agree" if agree else "they differ")
        + f" ({abs(apart):.2%} apart, {allowed:.2%} allowed at about 95 %).",
        value=found.final,
        limit=stated.value,
        unit="-",
        source=stated.source,
        remedy=""
        if agree
        else "Fire coupons and measure; then correct the card's viscosity or its programme.",
    )
