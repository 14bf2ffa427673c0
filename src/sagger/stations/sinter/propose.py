"""Which programme reaches the density asked for in the least time: searched on the law, proposed, not run."""

from __future__ import annotations

import dataclasses
import math

from scipy.optimize import brentq, minimize_scalar

from sagger.goods.furnace import Furnace
from sagger.goods.powder import Segment, Sintering
from sagger.goods.sintered import ProgrammeProposal
from sagger.stations.sinter.law import followed, gas, known
from sagger.stations.sinter.path import path
from sagger.units import into

LEAST_HOLD = 1800.0  # so that a load is evenly hot; common practice, no source [s]
MOST_HOLD = 12 * 3600.0
MARGIN = 10.0  # below the solidus at the hottest place; common practice, no source [K]
BELOW = 80.0  # peaks down to this far below the card's are tried [K]
RATES = 3  # heating rates tried, from the card's to the furnace's
WORTH = 0.02  # share of the run below which a proposal is not worth a trial
NEVER = 1e9  # longer than any run [s]
TIGHT = 1e-5  # of density, within which a hold is found


def proposal(programme: tuple[Segment, ...], card: Sintering, furnace: Furnace) -> ProgrammeProposal | None:
    """The quickest programme by the law that gives the card's sintered density; None if none is much quicker.

    Searched are the rate of the sintering stage (up to the furnace's), and peak and hold of its last stretch.
    Debinding and holds before the last stay as they are: they are there for other reasons.

    Parameters
    ----------
    programme : tuple of Segment
        What this furnace runs of the card's programme.
    """
    if not programme or programme[-1].stage != "sintering":
        return None
    asked = min(card.sintered_density.value, card.end_density.value - TIGHT)
    top, why = _hottest(programme, card, furnace)
    low = min(programme[-1].target, top) - BELOW
    now = float(path(programme, furnace).time[-1])
    slow, fast = programme[-1].rate, furnace.rate_most.value
    best: tuple[float, tuple[Segment, ...]] | None = None
    for step in range(RATES):
        rate = slow + (fast - slow) * step / (RATES - 1)
        found = _quickest(programme, card, furnace, rate, (low, top), asked)
        if found is not None and (best is None or found[0] < best[0]):
            best = found
    if best is None or best[0] > (1 - WORTH) * now:
        return None
    bounds = (
        f"rate up to {into(fast, 'K/min'):.3g} K/min, peak up to {into(top, 'degC'):.0f} °C ({why}), "
        f"hold {LEAST_HOLD / 60:.0f} min or more, debinding as it is"
    )
    density = _final(best[1], card, furnace)
    return ProgrammeProposal(programme=best[1], run=best[0], density=density, bounds=bounds)


def _hottest(programme: tuple[Segment, ...], card: Sintering, furnace: Furnace) -> tuple[float, str]:
    """Highest peak that may be tried [K], and what bounds it."""
    able = furnace.temperature.value - furnace.uniformity.value
    if card.solidus is None:
        return min(max(segment.target for segment in programme), able), "the card's own; it has no solidus"
    solid = card.solidus.value - furnace.uniformity.value - MARGIN
    return (
        (solid, f"{MARGIN:.0f} K below the solidus at the hottest place")
        if solid < able
        else (
            able,
            "what the furnace reaches everywhere",
        )
    )


def _quickest(
    programme: tuple[Segment, ...],
    card: Sintering,
    furnace: Furnace,
    rate: float,
    peaks: tuple[float, float],
    asked: float,
) -> tuple[float, tuple[Segment, ...]] | None:
    """Run time [s] and programme at one heating rate; None if no peak and hold within bounds will do."""

    def timed(peak: float) -> float:
        shortest = _held(programme, card, furnace, rate, peak, asked)
        # too cold: the further below the hottest peak, the worse
        return NEVER + peaks[1] - peak if shortest is None else float(path(shortest, furnace).time[-1])

    best = minimize_scalar(timed, bounds=peaks, method="bounded", options={"xatol": 0.5})
    peak = min((_celsius(best.x + step, peaks[1]) for step in (-1, 0, 1)), key=timed)
    shortest = _held(programme, card, furnace, rate, peak, asked)
    return None if shortest is None else (float(path(shortest, furnace).time[-1]), shortest)


def _celsius(kelvin: float, most: float) -> float:
    """The next whole degree Celsius that is not above `most` [K]."""
    return math.floor(min(into(kelvin, "degC"), into(most, "degC")) + 0.5 * (kelvin < most - 0.5)) + 273.15


def _held(
    programme: tuple[Segment, ...],
    card: Sintering,
    furnace: Furnace,
    rate: float,
    peak: float,
    asked: float,
) -> tuple[Segment, ...] | None:
    """The programme with this rate and peak, held for as many whole minutes as the density needs."""

    def made(hold: float) -> tuple[Segment, ...]:
        return _changed(programme, rate, peak, hold)

    def short(hold: float) -> float:
        return _final(made(hold), card, furnace) - asked

    if short(LEAST_HOLD) >= 0:
        return made(LEAST_HOLD)
    if short(MOST_HOLD) < 0:
        return None
    hold = brentq(short, LEAST_HOLD, MOST_HOLD, xtol=20.0)
    return made(60 * math.ceil(hold / 60))


def _changed(programme: tuple[Segment, ...], rate: float, peak: float, hold: float) -> tuple[Segment, ...]:
    quick = [
        dataclasses.replace(each, rate=max(each.rate, rate)) if each.stage == "sintering" else each
        for each in programme
    ]
    last = dataclasses.replace(quick[-1], target=peak, hold=hold, source="", where="", standing="worked")
    return (*quick[:-1], last)


def _final(programme: tuple[Segment, ...], card: Sintering, furnace: Furnace) -> float:
    way, law = path(programme, furnace), known(card)
    return float(followed(way, law, law.values, 0.0, gas(programme, way))[0][-1])
