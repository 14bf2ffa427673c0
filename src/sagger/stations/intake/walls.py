"""Findings about walls that are too thin to print or to hold, and gaps from which powder will not come."""

from __future__ import annotations

import numpy as np
from numpy import ndarray

from sagger.geometry.thickness import Across
from sagger.goods.cell import Cell
from sagger.goods.figure import Figure
from sagger.goods.finding import Finding
from sagger.stations.intake.fit import cited, oversize
from sagger.stations.intake.surface import place

FACING = 0.8  # the surface across is within 37 degrees of parallel: a wall, not the edge of a block
PARALLEL = 0.97  # within 14 degrees: a wall of one thickness, not the edge of a taper
LEAST_SHARE = 0.05  # of limit squared: smaller spots are slips of the mesh
TOUCHING_MM = 1e-3  # faces nearer than this touch: bodies drawn face to face, and the file's rounding


def walls(inward: Across, turns: ndarray, cell: Cell, layer_mm: float) -> Finding:
    """The thinnest wall against the powder's least wall, and against what drops and layers can draw at all.

    "look" below the card's least wall; "stop" where a wall of one thickness stays, in every allowed
    orientation and at green size, below one drop pitch or two layers (common practice, no source).
    """
    least = cell.powder.least_wall
    limit = least.value * 1000
    faces = inward.facing > FACING
    thinnest, index, share = _least(inward, faces, limit)
    if index < 0 or thinnest >= limit:
        found = f"; the thinnest found is {thinnest:.3g} mm" if index >= 0 else ""
        text = f"No wall is thinner than {limit:.3g} mm{found}."
        at = inward.points[index] if index >= 0 else None
        return _finding("ok", "thin wall", text, thinnest if index >= 0 else None, limit, least, at)
    text = (
        f"A wall is {thinnest:.3g} mm thick; {limit:.3g} mm is the least for {cell.powder.name}. "
        f"Walls thinner than that make up {_percent(share)} of the surface."
    )
    remedy = "Thicken the wall, or agree that it may break or come out blunt."
    drawn = _too_thin_to_draw(inward, turns, cell, layer_mm)
    if drawn is None:
        return _finding("look", "thin wall", text, thinnest, limit, least, inward.points[index], remedy)
    wall, drawable, at = drawn
    text = (
        f"A wall is {wall:.3g} mm thick, {wall * oversize(cell.powder):.3g} mm as printed; drops and layers "
        f"cannot draw less than {drawable:.3g} mm there in any allowed orientation (common practice)."
    )
    return Finding(
        level="stop",
        what="thin wall",
        text=text,
        value=wall * oversize(cell.powder),
        limit=drawable,
        unit="mm",
        at_mm=place(at),
        source="common practice, no source",
        remedy="Thicken the wall, or take a finer head or layer.",
    )


def _too_thin_to_draw(
    inward: Across, turns: ndarray, cell: Cell, layer_mm: float
) -> tuple[float, float, ndarray] | None:
    """The thinnest wall below one drop pitch or two layers in all turns: thickness, limit, place."""
    head, k = cell.head, oversize(cell.powder)
    steps_mm = np.array([1e3 / head.resolution_x.value, 1e3 / head.resolution_y.value, 2 * layer_mm])
    drawable = np.abs(inward.normals @ np.swapaxes(turns, 1, 2)) @ steps_mm
    limits = drawable.min(axis=0)
    thin = (inward.facing > PARALLEL) & (inward.distance * k < limits)
    if inward.areas[thin].sum() < LEAST_SHARE * limits.max() ** 2:
        return None
    index = int(np.flatnonzero(thin)[np.argmin(inward.distance[thin])])
    return float(inward.distance[index]), float(limits[index]), inward.points[index]


def gaps(outward: Across, cell: Cell) -> Finding:
    """The narrowest gap against the least from which powder still comes out."""
    least = cell.powder.least_gap
    limit = least.value * 1000
    narrowest, index, share = _least(
        outward, (outward.facing > FACING) & (outward.distance > TOUCHING_MM), limit
    )
    if index < 0:
        text = f"No two surfaces face each other across a gap; {limit:.3g} mm would be the least."
        return _finding("ok", "narrow gap", text, None, limit, least, None)
    if narrowest >= limit:
        text = f"No gap is narrower than {limit:.3g} mm; the narrowest found is {narrowest:.3g} mm."
        return _finding("ok", "narrow gap", text, narrowest, limit, least, outward.points[index])
    text = (
        f"A gap is {narrowest:.3g} mm wide; below {limit:.3g} mm {cell.powder.name} does not come out for "
        f"certain. Such gaps lie along {_percent(share)} of the surface."
    )
    remedy = "Widen the gap, or agree that powder stays in it."
    return _finding("look", "narrow gap", text, narrowest, limit, least, outward.points[index], remedy)


def _percent(share: float) -> str:
    return f"{share * 100:.1f} %" if share >= 0.001 else "less than 0.1 %"


def _least(found: Across, chosen: ndarray, limit: float) -> tuple[float, int, float]:
    """Least distance once specks are left out, its index (-1: none), and the share of area below `limit`."""
    rows = np.flatnonzero(chosen)
    rows = rows[np.argsort(found.distance[rows], kind="stable")]
    heaped = np.cumsum(found.areas[rows])
    first = int(np.searchsorted(heaped, LEAST_SHARE * limit**2))
    if first >= len(rows):
        return np.inf, -1, 0.0
    index = int(rows[first])
    below = float(found.areas[rows][found.distance[rows] < limit].sum())
    return float(found.distance[index]), index, below / float(found.areas.sum())


def _finding(
    level: str,
    what: str,
    text: str,
    value: float | None,
    limit: float,
    figure: Figure,
    at: ndarray | None,
    remedy: str = "",
) -> Finding:
    return Finding(
        level=level,
        what=what,
        text=text,
        value=value,
        limit=limit,
        unit="mm",
        at_mm=None if at is None else place(at),
        source=cited(figure),
        remedy=remedy,
    )
