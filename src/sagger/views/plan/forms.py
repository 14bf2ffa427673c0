"""Forms in which plan.json prints what is no good: pairs as small tables, programmes, histories, spots."""

from __future__ import annotations

import dataclasses

import numpy as np

from sagger.goods.cured import OvenCourse
from sagger.goods.order import Spot
from sagger.views.plan.rows import pairs, row
from sagger.views.wording import noiseless

MOMENTS = 100  # of a history in the oven


def hours_and_degrees(programme: tuple[tuple[float, float], ...]) -> list[tuple[float, float]]:
    """A programme in hours and °C."""
    return [(noiseless(time, "h"), noiseless(kelvin, "degC")) for time, kelvin in programme]


def evenly(course: OvenCourse) -> OvenCourse:
    """The histories at evenly spaced moments."""
    time = np.linspace(course.time[0], course.time[-1], MOMENTS)
    names = [field.name for field in dataclasses.fields(course)]
    return OvenCourse(**{name: np.interp(time, course.time, getattr(course, name)) for name in names})


def places(held: tuple[Spot, ...]) -> list[tuple[float, float, float]]:
    """Spots as shares along x and y, and height [mm]."""
    return [(spot.x, spot.y, spot.z_mm) for spot in held]


MODEL = pairs(
    "Model",
    "What one packing model makes of the lot's size curve.",
    row(
        "name",
        str,
        "linear (Yu, Zou, Standish 1996), mixture (Yu, Standish 1991), compressible (de Larrard 1999)",
    ),
    row(
        "packing_percent",
        float,
        "its one size alone calibrated on the powder card's grains and packing",
        unit="share",
    ),
)
SHARE = pairs(
    "Share",
    "One contribution to a variance.",
    row("name", str, "of the contribution"),
    row("percent", float, "of the variance", unit="share"),
)
CHANCE = pairs(
    "Chance",
    "A chance if one source of scatter were gone.",
    row("name", str, "of the source"),
    row("chance_percent", float, "that the size is met then", unit="share"),
)
TRAY_PIECE = pairs(
    "TrayPiece",
    "Pieces of one part on a tray.",
    row("part", int, "index into `parts`"),
    row("pieces", int, "of that part"),
)
