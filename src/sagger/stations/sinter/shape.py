"""The shape a part takes in the furnace."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.errors import InputError, LawError
from sagger.geometry import cells as cutting
from sagger.geometry import mesh, warp
from sagger.goods.furnace import Furnace
from sagger.goods.green import Green
from sagger.goods.powder import Powder, Sintering
from sagger.goods.sag import Deformed
from sagger.goods.shape import Shape
from sagger.physics import solid
from sagger.stations.sinter.firing import Firing, Uneven, firing
from sagger.stations.sinter.stand import UNRELATED, deformed, fired, lowered, stand, standing
from sagger.tick import Tick, silent


class Grids(NamedTuple):
    """Cells of the grid a part is bent on, and of the unrelated one it is checked on."""

    bent: int
    checked: int


GRIDS = {"quick": Grids(6_000, 15_000), "full": Grids(25_000, 150_000)}
MOST_EDGE = 2.0  # cells: longer edges of triangles are divided


def deform(
    green: Green,
    powder: Powder,
    furnace: Furnace,
    method: str = "quick",
    *,
    uneven: Uneven | None = None,
    supports: tuple[solid.Support, ...] = (),
    tick: Tick = silent,
) -> Deformed:
    """The part as it comes out of the furnace.

    Parameters
    ----------
    green : Green
        Stands as in its first orientation; pre-deformed or not.
    method : str
        "quick" or "full": on about 15,000 or 150,000 cells.
    uneven : Uneven, optional
        Gradients of temperature and green density.
    supports : tuple of Support
        Blocks of the same powder under it, at green size [m], the part's middle at the origin.

    Raises
    ------
    InputError
        If the powder is not sintered.
    LawError
        If it cannot be followed: a finding at level "stop" says why, or the solver does.
    """
    card = sintering(powder)
    hottest = _hottest(green, uneven)
    how = firing(powder, card, furnace, green.factors, hottest, supports)
    nominal, _ = standing(green.part.shape, green.part.turns[0])
    now, _ = standing(green.shape, green.part.turns[0])
    pitch = cutting.pitch_for(nominal, GRIDS[method].checked, green.part.volume_mm3)
    if green.sag is not None and green.sag.finished is not None:
        target = np.asarray(green.sag.finished.nominal)
    else:
        now = warp.divided(now, MOST_EDGE * pitch)
        target = now.vertices
    full = mesh.shape(now.vertices * green.factors.k, now.triangles)
    return checked(full, target, unrelated(pitch), Run(how, uneven), tick)


class Run(NamedTuple):
    how: Firing
    uneven: Uneven | None = None


class Laid(NamedTuple):
    """A grid on which nothing was bent."""

    pitch_mm: float  # edge of a cell once it has shrunk
    shift: tuple[float, float, float]  # of the grid, in cells


def unrelated(pitch_mm: float, number: int = 0) -> Laid:
    """A grid unlike the one a part was bent on and unlike those of other numbers."""
    return Laid(pitch_mm * (1 - 0.04 * number), UNRELATED[number % len(UNRELATED)])


def checked(full: Shape, target: ndarray, laid: Laid, run: Run, tick: Tick) -> Deformed:
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


def _hottest(green: Green, uneven: Uneven | None) -> float:
    """Largest temperature off the middle that a gradient makes within the green part [K]."""
    if uneven is None:
        return 0.0
    half = np.ptp(green.shape.vertices @ green.maps[0].T, axis=0) / 2 * 1e-3
    return float(np.abs(np.array(uneven.temperature)) @ half)
