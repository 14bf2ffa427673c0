"""What makes a finished length scatter, from the cards or from what this shop measured."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from sagger.goods.cell import Cell
from sagger.goods.green import Green
from sagger.goods.job import Build
from sagger.goods.learned import Approved, Scatter
from sagger.goods.sintered import Sintered
from sagger.physics import field

FACTOR = "oversize factor"


class Axis(NamedTuple):
    """What happens to a length along one machine axis; standard uncertainties by where they come from."""

    size: float  # finished over nominal, expected [-]
    relative: dict[str, float]  # to the finished size [-]
    fixed_mm: dict[str, float]  # whatever the size [mm]


def axis_of(
    axis: int,
    green: Green,
    builds: tuple[Build, ...],
    sintered: Sintered | None,
    cell: Cell,
    approved: Approved,
) -> Axis:
    """Expected size and scatter along a machine axis."""
    k, u_k = float(green.factors.k[axis]), float(green.factors.u[axis])
    stack = builds[0].stack
    step = (*stack.pitch_mm, stack.layer_mm)[axis]
    lattice = math.sqrt(2) * step / math.sqrt(12)  # both ends of a size fall anywhere between two drops
    card = cell.powder.sintering
    if sintered is None or card is None or cell.furnace is None:
        return Axis(1.0, {FACTOR: u_k / k}, {"drop lattice": lattice / k})
    if approved.scatter is not None and green.factors.origin != "card":
        return _measured(u_k / k, approved.scatter, _bed(approved, builds))
    ratio, u_ratio = float(sintered.ratio[axis]), float(sintered.ratio_u[axis])
    furnace = float(sintered.ratio_u_furnace[axis]) / ratio
    forecast = math.sqrt(max((u_ratio / ratio) ** 2 - furnace**2, 0.0))
    named = {FACTOR: u_k / k, "part to part": card.scatter.value, "furnace uniformity": furnace}
    if green.factors.origin == "card":
        return Axis(k * ratio, named | {FACTOR: max(u_k / k, forecast)}, {"drop lattice": lattice * ratio})
    return Axis(1.0, named, {"drop lattice": lattice / k})


def _measured(factor: float, scatter: Scatter, bed: float) -> Axis:
    """Part to part as measured holds the drop lattice of the coupons; it is not counted twice."""
    return Axis(
        1.0,
        {
            FACTOR: factor,
            "lot": scatter.lot,
            "bed place": bed,
            "furnace place": scatter.furnace,
            "part to part": scatter.part,
        },
        {"gauge": scatter.gauge_mm},
    )


def _bed(approved: Approved, builds: tuple[Build, ...]) -> float:
    """Relative scatter by place in the bed: as measured, or what the map leaves where sizes follow it."""
    if approved.scatter is None:
        return 0.0
    if approved.bed is None:
        return approved.scatter.bed
    at = np.array([p.placement[:3, 3] for b in builds for p in b.layout.pieces])
    bed = approved.bed
    of = field.Shape(bed.axes, bed.amplitude, bed.reach_mm, bed.noise)
    seen = field.seen(bed.places_mm, bed.density, of, at)
    return float(np.sqrt(np.mean((seen.u / seen.mean) ** 2))) / 3
