"""Whether the binder leaves in time, and without lifting a thick section apart."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray
from scipy.constants import atm

from sagger.goods.binder import Binder
from sagger.goods.dose import Dose
from sagger.goods.finding import Finding
from sagger.goods.green import Green
from sagger.goods.powder import Powder, Segment, Sintering
from sagger.physics import burnout
from sagger.stations.sinter.path import Path
from sagger.units import into

GONE = 0.99  # share of the binder that should be gone before sintering; common practice, no source


def share_gone(way: Path, card: Sintering) -> ndarray:
    """Share of the binder gone along the path [-], first order (`burnout.gone`)."""
    frequency = burnout.frequency(
        card.debind_energy.value, card.debind_peak.value, card.debind_peak_rate.value
    )
    return burnout.gone(way.time, way.temperature, card.debind_energy.value, frequency)


def left_over(way: Path, programme: tuple[Segment, ...], gone: ndarray) -> tuple[Finding, ...]:
    """Whether the binder is gone where the programme leaves its debinding stage."""
    stages = [index for index, segment in enumerate(programme) if segment.stage == "debinding"]
    if not stages:
        return ()
    share = float(gone[np.flatnonzero(way.segment <= stages[-1])[-1]])
    enough = share >= GONE
    text = f"{share:.1%} of the binder is gone when sintering begins" + (
        "." if enough else f"; {GONE:.0%} should be."
    )
    return (
        Finding(
            level="ok" if enough else "look",
            what="binder left",
            text=text,
            value=share,
            limit=GONE,
            unit="-",
            source="common practice, no source",
            remedy="" if enough else "Hold longer at the end of debinding, or hotter.",
        ),
    )


class Residue(NamedTuple):
    """Binder that is left in the pieces when they go into the furnace, and what it turns into."""

    share: float  # mass of binder over mass of powder [-]
    molar_mass: float  # of the vapour [kg/mol]
    viscosity: float  # of gas and vapour in the pores [Pa.s]


def residue(doses: tuple[Dose, ...], binder: Binder) -> Residue:
    """What the boxes' pieces carry, on average."""
    powder = sum(dose.powder_in_pieces for dose in doses)
    share = sum(dose.solids_mass for dose in doses) / powder if powder else 0.0
    return Residue(share, binder.vapour_molar_mass.value, binder.vapour_viscosity.value)


def pressure(
    way: Path, programme: tuple[Segment, ...], greens: tuple[Green, ...], powder: Powder, left: Residue
) -> tuple[Finding, ...]:
    """Gas pressure in the thickest wall while the binder leaves, against what the card allows."""
    card = powder.sintering
    if not greens or card is None:
        return ()
    thickest = max(greens, key=_wall)
    half = _wall(thickest) / 2
    gone = share_gone(way, card)
    frequency = burnout.frequency(
        card.debind_energy.value, card.debind_peak.value, card.debind_peak_rate.value
    )
    loss = burnout.loss_rate(gone, way.temperature, card.debind_energy.value, frequency)
    source = card.green_density.value * powder.solid_density.value * left.share * loss
    pores = burnout.permeability(powder.d50.value, 1 - card.green_density.value)
    flow = burnout.Flow(pores, left.viscosity, left.molar_mass)
    over = np.zeros_like(source)
    for outside, here in _surroundings(way, programme):
        over[here] = burnout.overpressure(source[here], half, way.temperature[here], flow, outside)
    return (_judged(way, over, thickest, card, left.share),)


def _wall(green: Green) -> float:
    """Thickest wall at green size [m]."""
    return green.part.thickest_mm * 1e-3 * float(green.factors.k.max())


def _surroundings(way: Path, programme: tuple[Segment, ...]) -> list[tuple[float, ndarray]]:
    vacuum = np.array([segment.atmosphere == "vacuum" for segment in programme] + [False])[way.segment]
    return [(0.0, vacuum), (atm, ~vacuum)]


def _judged(way: Path, over: ndarray, green: Green, card: Sintering, share: float) -> Finding:
    worst = int(np.argmax(over))
    limit = card.debind_overpressure
    held = bool(over[worst] <= limit.value)
    at, kilo = into(float(way.temperature[worst]), "degC"), float(over[worst]) / 1e3
    return Finding(
        level="ok" if held else "look",
        what="debinding pressure",
        text=f"The {_wall(green) * 1e3:.1f} mm wall of {green.part.request.name} (green) sees "
        f"{kilo:.3g} kPa at {at:.0f} °C; {limit.value / 1e3:.3g} kPa are allowed "
        f"({share:.2%} binder by mass).",
        value=kilo,
        limit=limit.value / 1e3,
        unit="kPa",
        source=limit.source,
        remedy=""
        if held
        else "Heat slower through burnout, hollow the section, or measure your binder's burnout.",
    )
