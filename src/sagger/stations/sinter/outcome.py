"""What the piece will be after the programme: density, size, and how sure that is."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.goods.finding import Finding
from sagger.goods.furnace import Furnace
from sagger.goods.powder import Sintering
from sagger.goods.sintered import Place
from sagger.physics import chance, coarsening, shrinkage
from sagger.stations.sinter.law import Known, followed, known
from sagger.stations.sinter.path import Path

COVERAGE = 2.0  # expanded uncertainty at about 95 % (JCGM 100, 6.3.3)
HAIR = 1e-3  # densities closer than this change a length by 0.03 %: not worth a word
ASLEEP = 0.1  # share of the card's densification below which a programme does not sinter; common practice


class Outcome(NamedTuple):
    density: ndarray  # (n,) along the path [-]
    grain: ndarray | None  # (n,) [m]; None where the card has no grain growth
    final: float
    final_u: float
    ratio: ndarray  # (3,) finished over green [-]
    ratio_u: ndarray  # (3,)
    furnace_u: ndarray  # (3,): the part of ratio_u that is a piece's place in the furnace
    places: tuple[Place, ...]


def outcome(way: Path, card: Sintering, furnace: Furnace, pressure: ndarray) -> Outcome:
    """Density along the path, final density and size ratios, each with its standard uncertainty.

    Contributions: every figure of the law with its own uncertainty, and the furnace's uniformity as a
    rectangular error of temperature: a piece may stand anywhere. Figures count as independent; viscosity and
    activation energy do at the card's `viscosity_pivot`. `pressure` as from `law.gas`.

    Source
    ------
    `densify.densified` or `coarsening.followed`, `shrinkage.ratios`; JCGM 100:2008, 5.1.3 note 2.
    """
    law = known(card)
    u = np.append(law.u, chance.rectangular(furnace.uniformity.value))

    def ends(at: ndarray) -> ndarray:
        final = followed(way, law, at[:-1], at[-1], pressure)[0][-1]
        return np.array([final, *_ratios(law, at[:-1], final)])

    values = np.append(law.values, 0.0)
    density, grain = followed(way, law, law.values, 0.0, pressure)
    at_end = ends(values)
    rows = chance.propagated(ends, list(values), list(u))
    spread = np.sqrt(np.sum(rows**2, axis=0))
    places = []
    for name, warmer in _places(furnace):
        there = ends(np.append(law.values, warmer))
        places.append(Place(name=name, warmer=warmer, density=float(there[0]), ratio=there[1:]))
    return Outcome(
        density=density,
        grain=grain,
        final=float(at_end[0]),
        final_u=float(spread[0]),
        ratio=at_end[1:],
        ratio_u=spread[1:],
        furnace_u=np.abs(rows[-1, 1:]),
        places=tuple(places),
    )


def _places(furnace: Furnace) -> tuple[tuple[str, float], ...]:
    half = furnace.uniformity.value
    return (("coldest", -half), ("hottest", half)) if half else ()


def _ratios(law: Known, at: ndarray, final: float) -> ndarray:
    green, y, z = (at[law.names.index(name)] for name in ("green_density", "anisotropy_y", "anisotropy_z"))
    return shrinkage.ratios(green, final, y, z)


def against_card(found: Outcome, card: Sintering) -> Finding:
    """Whether the law with this furnace's programme and the card's own sintered density agree."""
    stated = card.sintered_density
    apart = found.final - stated.value
    allowed = max(COVERAGE * chance.combined((found.final_u, stated.u)), HAIR)
    agree = abs(apart) <= allowed
    left_out = [
        words
        for words, group in (("grain growth", card.coarsening), ("gas in closed pores", card.closed_pores))
        if group is None
    ]
    silent = (
        f" Not on the card and not counted: {' and '.join(left_out)};"
        f" above {card.end_density.value:.1%} the law is cut off."
        if left_out
        else ""
    )
    return Finding(
        level="ok" if agree else "look",
        what="sintered density",
        text=f"The programme gives {found.final:.1%} by the viscous law, the card states {stated.value:.1%}; "
        + ("they agree" if agree else "they differ")
        + f" ({abs(apart):.2%} apart, {allowed:.2%} allowed at about 95 %).{silent}",
        value=found.final,
        limit=stated.value,
        unit="-",
        source=stated.source,
        remedy=""
        if agree
        else "Fire coupons and measure (`sagger calibrate`); then correct the card or its programme.",
    )


def asleep(found: Outcome, card: Sintering) -> tuple[Finding, ...]:
    """Stop if the programme hardly densifies the powder: what comes out is a green part without binder."""
    green, stated = card.green_density.value, card.sintered_density.value
    done = (found.final - green) / (stated - green)
    if done >= ASLEEP:
        return ()
    return (
        Finding(
            level="stop",
            what="does not sinter",
            text=f"The programme takes the powder from {green:.1%} to {found.final:.1%} of full density, "
            f"{done:.0%} of the way to the {stated:.1%} of the card; the piece would crumble.",
            value=found.final,
            limit=green + ASLEEP * (stated - green),
            unit="-",
            source="common practice, no source",
            remedy="Heat hotter or hold longer; see whether the programme has its sintering stage.",
        ),
    )


def stopped_by_gas(way: Path, pressure: ndarray, card: Sintering) -> tuple[Finding, ...]:
    """Look if gas shut in the pores ends densification below what the card states."""
    shut = card.closed_pores
    hot = float(pressure[int(np.argmax(way.temperature))])
    if shut is None or not hot:
        return ()
    pores = coarsening.Pores(shut.closure.value, shut.radius.value)
    limit = coarsening.gas_limit(pores, card.surface_energy.value, hot)
    if limit >= card.sintered_density.value:
        return ()
    return (
        Finding(
            level="look",
            what="gas in closed pores",
            text=f"Gas that cannot leave ends densification at {limit:.2%} "
            f"(pores of {shut.radius.value * 1e6:.3g} µm closing at {shut.closure.value:.0%}), "
            f"below the {card.sintered_density.value:.1%} of the card.",
            value=limit,
            limit=card.sintered_density.value,
            unit="-",
            source=shut.radius.source,
            remedy="Close the pores in hydrogen or vacuum, or with finer powder.",
        ),
    )
