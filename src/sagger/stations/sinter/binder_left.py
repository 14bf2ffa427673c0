"""Whether the binder leaves in time."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.goods.binder import Binder
from sagger.goods.dose import Dose
from sagger.goods.finding import PRACTICE, Against, Finding, risk
from sagger.goods.powder import Segment, Sintering
from sagger.physics.burnout import binder_loss
from sagger.stations.sinter.path import Path
from sagger.units import into

GONE = 0.99  # share of the binder that should be gone before sintering; common practice, no source


def share_gone(way: Path, card: Sintering) -> ndarray:
    """Share of the binder gone along the path [-], first order (`burnout.gone`)."""
    return binder_loss.gone(way.time, way.temperature, card.debind_energy.value, _frequency(card))


def _frequency(card: Sintering) -> float:
    return binder_loss.frequency(
        card.debind_energy.value, card.debind_peak.value, card.debind_peak_rate.value
    )


def left_over(way: Path, programme: tuple[Segment, ...], gone: ndarray, card: Sintering) -> Iterator[Finding]:
    """Whether the binder is gone where the programme leaves its debinding stage."""
    stages = [index for index, segment in enumerate(programme) if segment.stage == "debinding"]
    if not stages:
        return
    end = np.flatnonzero(way.segment <= stages[-1])[-1]
    share = float(gone[end])
    enough = share >= GONE
    text = f"{share:.1%} of the binder is gone when sintering begins" + (
        "." if enough else f"; {GONE:.0%} should be."
    )
    yield risk(
        "binder left",
        text,
        Against(share, GONE, "-", PRACTICE),
        "" if enough else _longer(share, float(way.temperature[end]), card),
        unless=enough,
    )


def _longer(share: float, kelvin: float, card: Sintering) -> str:
    """How long the end of the stage would have to be held for what is left to go too."""
    energy = card.debind_energy.value
    more = binder_loss.hold(1 - (1 - GONE) / (1 - share), kelvin, energy, _frequency(card)) / 60
    return f"Hold {more:.3g} min longer at the end of debinding, {into(kelvin, 'degC'):.0f} °C, or hotter."


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
