"""Whether the binder leaves in time."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.goods.binder import Binder
from sagger.goods.dose import Dose
from sagger.goods.finding import Finding
from sagger.goods.powder import Segment, Sintering
from sagger.physics import burnout
from sagger.stations.sinter.path import Path

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
