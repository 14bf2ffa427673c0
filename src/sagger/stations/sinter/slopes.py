"""Temperature and green density that differ over a part: what cards and readings say of it."""

from __future__ import annotations

import numpy as np

from sagger.goods.finding import Against, Finding, ok
from sagger.goods.furnace import Furnace
from sagger.goods.green import Green
from sagger.goods.learned import BedMap
from sagger.stations.sinter.firing import Uneven
from sagger.statistics import field


def warmer_along(furnace: Furnace) -> float:
    """The steepest even slope of temperature that the furnace's scatter allows on a tray [K/m].

    Source
    ------
    Both ends of the scatter at both ends of the shorter side: geometry; where it is hot, nobody knows.
    """
    return 2 * furnace.uniformity.value / min(furnace.tray_x.value, furnace.tray_y.value)


def density_up(bed: BedMap | None) -> float:
    """Slope of green relative density along z of the build, over the heights that were measured [1/m].

    0 without a map, or if it holds one height only. Slopes across the bed are left out: pieces lie turned.
    """
    if bed is None:
        return 0.0
    low, high = bed.places_mm.min(axis=0), bed.places_mm.max(axis=0)
    if not high[2] > low[2]:
        return 0.0
    ends = np.tile((low + high) / 2, (2, 1))
    ends[:, 2] = low[2], high[2]
    of = field.FieldModel(bed.axes, bed.amplitude, bed.reach_mm, bed.noise)
    below, above = field.seen(bed.places_mm, bed.density, of, ends).mean
    return float((above - below) / (high[2] - low[2]) * 1e3)


def taken(green: Green, bed: BedMap | None) -> tuple[Uneven, tuple[Finding, ...]]:
    """Gradients a part is bent with, and what is said of them."""
    slope = density_up(bed)
    if bed is None or slope == 0:
        return Uneven(), ()
    name, over = green.part.request.name, slope * _height(green)
    if green.part.request.orientations == "free":
        text = f"{name} may be nested on any side, so the map of the bed in z is not used for its shape."
        return Uneven(), (_used(text, over),)
    text = f"By the map of {bed.box}, the top of {name} is {over:+.2%} denser than its foot when green; used."
    return Uneven(density=(0.0, 0.0, slope)), (_used(text, over),)


def _height(green: Green) -> float:
    """Of the green part as it stands [m]."""
    return float(np.ptp(np.asarray(green.shape.vertices) @ green.maps[0].T, axis=0)[2]) * 1e-3


def _used(text: str, over: float) -> Finding:
    return ok(
        "green density over the part",
        text,
        Against(value=over * 100, unit="%", source="approved map of the bed"),
    )
