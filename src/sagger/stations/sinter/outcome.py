"""What the piece will be after the programme: density, size, and how sure that is."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.goods.finding import PRACTICE, Against, Finding, risk, stop
from sagger.goods.furnace import Furnace
from sagger.goods.powder import Sintering
from sagger.goods.sintered import Place
from sagger.physics.sintering import coarsening, shrinkage
from sagger.stations.sinter.law import LawDraws, LawFigures, draw, drawn_ends, followed, gas, known
from sagger.stations.sinter.path import Path, limited, path
from sagger.statistics import chance, draws

COVERAGE = 2.0  # expanded uncertainty at about 95 % (JCGM 100, 6.3.3)
HAIR = 1e-3  # densities closer than this change a length by 0.03 %: not worth a word
UNSINTERED = 0.1  # share of the card's densification below which a programme does not sinter; common practice


class SinterOutcome(NamedTuple):
    density: ndarray  # (n,) along the path [-]
    grain: ndarray | None  # (n,) [m]; None where the card has no grain growth
    final: float
    final_u: float  # of a piece anywhere in the furnace
    interval: tuple[float, float]  # that holds 95 % of such pieces
    density_draws: ndarray  # (m,): of such pieces
    ratio: ndarray  # (3,) finished over green [-]
    ratio_u: ndarray  # (3,)
    furnace_u: ndarray  # (3,): the part of ratio_u that is a piece's place in the furnace
    load_u: ndarray  # (3,): the part of ratio_u that differs from run to run
    ratio_draws: ndarray  # (m, 3): in the middle of the furnace, for each draw of card and law
    ratio_slope: ndarray  # (3,): by temperature of the place, root mean square over the draws [1/K]
    places: tuple[Place, ...]


def reached(card: Sintering, furnace: Furnace) -> SinterOutcome:
    """What the card's programme makes of its powder, without pieces, binder or trays."""
    programme, _ = limited(card.programme, furnace)
    way = path(programme, furnace)
    return outcome(way, card, furnace, gas(programme, way))


class _Ends(NamedTuple):
    """Draws at the end of the programme."""

    density: ndarray  # (m,)
    ratio: ndarray  # (m, 3)


def outcome(way: Path, card: Sintering, furnace: Furnace, pressure: ndarray) -> SinterOutcome:
    """Density along the path, final density and size ratios, each with how sure it is.

    Drawn together: every figure of the law with its own uncertainty, where densification stops, and by how
    much the law itself is off. A piece may stand anywhere in the furnace: its temperature is off by an even
    share of the furnace's uniformity. Figures count as independent; viscosity and activation energy do at the
    card's `viscosity_pivot`. `pressure` as from `law.gas`.

    Source
    ------
    `densify.densified` or `coarsening.followed`, `shrinkage.ratios`; JCGM 101:2008, 7.
    """
    law = known(card)
    density, grain = followed(way, law, law.values, 0.0, pressure)
    final, chosen = float(density[-1]), draw(law)
    middle = _ends(way, chosen, 0.0, pressure)
    half = furnace.uniformity.value
    step = half or 1.0
    cold, hot = (_ends(way, chosen, warmer, pressure) for warmer in (-step, step))
    slope = np.sqrt(np.mean(((hot.ratio - cold.ratio) / (2 * step)) ** 2, axis=0))
    anywhere = _anywhere(cold.density, middle.density, hot.density, chosen.place * (half > 0))
    at_place = slope * chance.rectangular(half)
    by_run = slope * (furnace.repeat.value if furnace.repeat else 0.0)
    return SinterOutcome(
        density=density,
        grain=grain,
        final=final,
        final_u=float(np.std(anywhere)),
        interval=draws.interval(anywhere),
        density_draws=anywhere,
        ratio=_ratios(law, final),
        ratio_u=chance.combined_by_result((np.std(middle.ratio, axis=0), by_run, at_place)),
        furnace_u=at_place,
        load_u=by_run,
        ratio_draws=middle.ratio,
        ratio_slope=slope,
        places=tuple(_places(law, final, half, middle.density, (cold.density, hot.density))),
    )


def _ends(way: Path, chosen: LawDraws, warmer: float, pressure: ndarray) -> _Ends:
    density, of = drawn_ends(way, chosen, warmer, pressure), chosen.figures
    ratio = shrinkage.ratios(of["green_density"], density, of["anisotropy_y"], of["anisotropy_z"])
    return _Ends(density, ratio)


def _anywhere(cold: ndarray, middle: ndarray, hot: ndarray, place: ndarray) -> ndarray:
    """Density of each draw at its place, -1 the coldest to 1 the hottest, straight in between."""
    return np.asarray(middle + np.where(place < 0, (middle - cold) * place, (hot - middle) * place))


def _places(
    law: LawFigures, final: float, half: float, middle: ndarray, ends: tuple[ndarray, ndarray]
) -> Iterator[Place]:
    """The coldest and the hottest place: the programme's density and what a place changes over all draws."""
    for name, warmer, there in zip(("coldest", "hottest"), (-half, half), ends, strict=True):
        if half:
            density = min(final + float(np.mean(there - middle)), 1.0)
            yield Place(name=name, warmer=warmer, density=density, ratio=_ratios(law, density))


def _ratios(law: LawFigures, final: float) -> ndarray:
    names = ("green_density", "anisotropy_y", "anisotropy_z")
    green, y, z = (law.values[law.names.index(name)] for name in names)
    return shrinkage.ratios(green, final, y, z)


def against_card(sintered: SinterOutcome, card: Sintering) -> Finding:
    """Whether the law with this furnace's programme and the card's own sintered density agree."""
    stated = card.sintered_density
    apart = sintered.final - stated.value
    allowed = max(COVERAGE * chance.combined((sintered.final_u, stated.u)), HAIR)
    agree = abs(apart) <= allowed
    words_of = "they agree" if agree else "they differ"
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
    return risk(
        "sintered density",
        f"The programme gives {sintered.final:.1%} by the viscous law, the card states {stated.value:.1%}; "
        f"{words_of} ({abs(apart):.2%} apart, {allowed:.2%} allowed at about 95 %).{silent}",
        Against(sintered.final, stated.value, "-", stated.source),
        "Fire coupons and measure (`sagger calibrate`); then correct the card or its programme.",
        unless=agree,
    )


def fell_short(sintered: SinterOutcome, card: Sintering, way: Path, pressure: ndarray) -> Iterator[Finding]:
    """Why the pieces come out less dense than the card states, where the programme or its gas is to blame."""
    yield from unsintered(sintered, card)
    yield from stopped_by_gas(way, pressure, card)


def unsintered(sintered: SinterOutcome, card: Sintering) -> Iterator[Finding]:
    """Stop if the programme hardly densifies the powder: what comes out is a green part without binder."""
    green, stated = card.green_density.value, card.sintered_density.value
    done = (sintered.final - green) / (stated - green)
    if done >= UNSINTERED:
        return
    yield stop(
        "does not sinter",
        f"The programme takes the powder from {green:.1%} to {sintered.final:.1%} of full density, "
        f"{done:.0%} of the way to the {stated:.1%} of the card; the piece would crumble.",
        Against(sintered.final, green + UNSINTERED * (stated - green), "-", PRACTICE),
        "Heat hotter or hold longer; see whether the programme has its sintering stage.",
    )


def stopped_by_gas(way: Path, pressure: ndarray, card: Sintering) -> Iterator[Finding]:
    """Look if gas shut in the pores ends densification below what the card states."""
    shut = card.closed_pores
    hot = float(pressure[int(np.argmax(way.temperature))])
    if shut is None or not hot:
        return
    pores = coarsening.Pores(shut.closure.value, shut.radius.value)
    limit = coarsening.gas_limit(pores, card.surface_energy.value, hot)
    if limit >= card.sintered_density.value:
        return
    yield risk(
        "gas in closed pores",
        f"Gas that cannot leave ends densification at {limit:.2%} "
        f"(pores of {shut.radius.value * 1e6:.3g} µm closing at {shut.closure.value:.0%}), "
        f"below the {card.sintered_density.value:.1%} of the card.",
        Against(limit, card.sintered_density.value, "-", shut.radius.source),
        "Close the pores in hydrogen or vacuum, or with finer powder.",
    )
