"""The shape a part takes in the furnace."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.errors import InputError, LawError
from sagger.geometry.surface import mesh
from sagger.goods.powder import Powder, Sintering
from sagger.goods.sag import Deformed
from sagger.goods.shape import Shape
from sagger.stations.sinter.firing import Firing, Uneven
from sagger.stations.sinter.stand import UNRELATED, deformed, fired, lowered, stand
from sagger.tick import Tick


class Grids(NamedTuple):
    """Cells of the grid a part is bent on, and of the unrelated one it is checked on."""

    bent: int
    checked: int


GRIDS = {"quick": Grids(6_000, 15_000), "full": Grids(25_000, 150_000)}
MOST_EDGE = 2.0  # cells: longer edges of triangles are divided


class ShapeRun(NamedTuple):
    how: Firing
    uneven: Uneven | None = None


class LaidGrid(NamedTuple):
    """A grid on which nothing was bent."""

    pitch_mm: float  # edge of a cell once it has shrunk
    shift: tuple[float, float, float]  # of the grid, in cells


def unrelated(pitch_mm: float, number: int = 0) -> LaidGrid:
    """A grid unlike the one a part was bent on and unlike those of other numbers."""
    return LaidGrid(pitch_mm * (1 - 0.04 * number), UNRELATED[number % len(UNRELATED)])


def checked(full: Shape, target: ndarray, laid: LaidGrid, run: ShapeRun, tick: Tick) -> Deformed:
    """A green surface of full size through the furnace, on a grid of its own."""
    pitch = laid.pitch_mm * (run.how.final_density / run.how.green_density) ** (1 / 3)
    low = np.array([0.0, 0.0, full.vertices[:, 2].min()])
    here = stand(mesh.shape(full.vertices - low, full.triangles), pitch, np.ones(3), laid.shift)
    stops = [each.text for each in (*run.how.findings, *here.findings) if each.level == "stop"]
    if stops:
        raise LawError(stops[0])
    out = fired(here, lowered(here, here.built.place), run.how, run.uneven, tick=tick)
    return deformed(here, out, target, run.how)


def sintering(powder: Powder) -> Sintering:
    """The powder's sintering card; refused for sand."""
    if powder.sintering is None:
        raise InputError(
            f"{powder.title} is not sintered",
            field="sag",
            value="quick or full",
            remedy='Leave sag at "factors" for sand.',
        )
    return powder.sintering
