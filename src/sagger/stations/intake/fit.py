"""Whether the part, at green size, goes into the box, the oven and the furnace."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.goods.box import Box
from sagger.goods.cell import Cell
from sagger.goods.figure import Figure, cited
from sagger.goods.finding import Against, Finding, ok, stop
from sagger.goods.furnace import Furnace
from sagger.goods.oven import Oven
from sagger.goods.powder import Powder
from sagger.goods.shape import Shape


class FreeRoom(NamedTuple):
    """Free room for one part."""

    what: str  # name of the finding
    where: str  # in words
    size_mm: ndarray  # float64 (3,)
    figure: Figure  # the length it rests on
    remedy: str


def oversize(powder: Powder) -> float:
    """Green over finished length, the same along all axes, from the card's two densities; 1 for sand.

    Source
    ------
    Conservation of solid volume: k^3 = sintered / green relative density. A first look only: the factors
    that are printed with come later, with their uncertainty.
    """
    if powder.sintering is None:
        return 1.0
    return float((powder.sintering.sintered_density.value / powder.sintering.green_density.value) ** (1 / 3))


def fits(body: Shape, turns: ndarray, cell: Cell) -> list[Finding]:
    """One finding each for box, oven and furnace (none for sand), at green size in the best allowed turn."""
    rooms = [_box(cell.box), _oven(cell.oven)]
    if cell.furnace is not None:
        rooms.append(_furnace(cell.furnace))
    k = oversize(cell.powder)
    sizes = np.array([np.ptp(body.vertices @ turn.T, axis=0) for turn in turns]) * k
    return [_fit(room, sizes, k) for room in rooms]


def _fit(room: FreeRoom, sizes: ndarray, k: float) -> Finding:
    over = sizes - room.size_mm
    best = int(np.argmin(over.max(axis=1)))
    axis = int(np.argmax(over[best]))
    excess = float(over[best, axis])
    green, free = f"{_product(sizes[best])} mm at green size (oversize {k:.3f})", _product(room.size_mm)
    against = Against(float(sizes[best, axis]), float(room.size_mm[axis]), "mm", cited(room.figure))
    if excess <= 0:
        return ok(room.what, f"The part, {green}, goes into {room.where}, {free} mm.", against)
    text = (
        f"The part, {green}, is {excess:.2f} mm too long along {'xyz'[axis]} for {room.where}, {free} mm, "
        f"in the best of {len(sizes)} allowed orientations."
    )
    return stop(room.what, text, against, room.remedy)


def _product(sizes: ndarray) -> str:
    return " x ".join(f"{size:.1f}" for size in sizes)


def _box(box: Box) -> FreeRoom:
    rim = np.array([box.wall_gap.value, box.wall_gap.value, box.floor_gap.value])
    size = np.array([box.length_x.value, box.length_y.value, box.length_z.value]) - 2 * rim
    remedy = 'Take a larger box, allow more orientations (orientations = "free"), or split the part.'
    return FreeRoom("too big for box", f"the box {box.name} less its gaps", size * 1000, box.length_x, remedy)


def _oven(oven: Oven) -> FreeRoom:
    size = np.array([oven.length_x.value, oven.length_y.value, oven.length_z.value])
    remedy = "Take a larger oven or split the part."
    return FreeRoom("too big for oven", f"the oven {oven.name}", size * 1000, oven.length_x, remedy)


def _furnace(furnace: Furnace) -> FreeRoom:
    edge = 2 * furnace.tray_edge.value
    tall = furnace.shelf_height.value
    if furnace.shelf_pitch is not None:  # shelves above may be taken out
        tall += (round(furnace.shelves.value) - 1) * furnace.shelf_pitch.value
    size = [furnace.tray_x.value - edge, furnace.tray_y.value - edge, tall]
    remedy = "Take a furnace with larger trays or higher shelves, let the part lie otherwise, or split it."
    where = f"a tray of the furnace {furnace.name} less its edge"
    return FreeRoom("too big for furnace", where, np.array(size) * 1000, furnace.tray_x, remedy)
