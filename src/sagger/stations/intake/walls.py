"""Findings about walls that are too thin to print or to hold, and gaps from which powder will not come."""

from __future__ import annotations

import numpy as np
from numpy import ndarray

from sagger.geometry.wall.thickness import TOUCHING_MM, Across
from sagger.goods.cell import Cell
from sagger.goods.figure import cited
from sagger.goods.finding import PRACTICE, Against, Finding, loss, ok, risk, stop
from sagger.stations.intake.fit import oversize
from sagger.stations.intake.surface import place

FACING = 0.8  # the surface across is within 37 degrees of parallel: a wall, not the edge of a block
PARALLEL = 0.97  # within 14 degrees: a wall of one thickness, not the edge of a taper
MOSTLY = 0.5  # of the surface: then not a corner but the part is too thin; common practice, no source
LEAST_SHARE = 0.05  # of limit squared: smaller spots are slips of the mesh
LEAST_OF_PART = 0.01  # of the surface: a spot so large counts, however small the part


def walls(inward: Across, turns: ndarray, cell: Cell, layer_mm: float) -> Finding:
    """The thinnest wall against the powder's least wall, and against what drops and layers can draw at all.

    "look" below the card's least wall; "stop" where a wall of one thickness stays, in every allowed
    orientation and at green size, below one drop pitch or two layers (common practice, no source).
    """
    limit, source = cell.powder.least_wall.value * 1000, cited(cell.powder.least_wall)
    thinnest, index, share = _least(inward, inward.facing > FACING, limit)
    if index < 0:
        return ok("thin wall", f"No wall is thinner than {limit:.3g} mm.", Against(None, limit, "mm", source))
    against, at_mm = Against(thinnest, limit, "mm", source), place(inward.points[index])
    if thinnest >= limit:
        text = f"No wall is thinner than {limit:.3g} mm; the thinnest found is {thinnest:.3g} mm."
        return ok("thin wall", text, against, at_mm=at_mm)
    drawn = _too_thin_to_draw(inward, turns, cell, layer_mm)
    if drawn is not None:
        return _undrawn(*drawn, oversize(cell.powder))
    text = (
        f"A wall is {thinnest:.3g} mm thick; {limit:.3g} mm is the least for {cell.powder.name}. "
        f"Walls thinner than that make up {_percent(share)} of the surface."
    )
    remedy = "Thicken the wall, or agree that it may break or come out blunt."
    bad = loss if share > MOSTLY else risk
    return bad("thin wall", text, against, remedy, at_mm=at_mm)


def _undrawn(wall_mm: float, drawable_mm: float, at: ndarray, k: float) -> Finding:
    text = (
        f"A wall is {wall_mm:.3g} mm thick, {wall_mm * k:.3g} mm as printed; drops and layers "
        f"cannot draw less than {drawable_mm:.3g} mm there in any allowed orientation (common practice)."
    )
    against, remedy = (
        Against(wall_mm * k, drawable_mm, "mm", PRACTICE),
        "Thicken the wall, or take a finer head or layer.",
    )
    return stop("thin wall", text, against, remedy, at_mm=place(at))


def _too_thin_to_draw(
    inward: Across, turns: ndarray, cell: Cell, layer_mm: float
) -> tuple[float, float, ndarray] | None:
    """The thinnest wall below one drop pitch or two layers in all turns: thickness, limit, place."""
    head, k = cell.head, oversize(cell.powder)
    steps_mm = np.array([1e3 / head.resolution_x.value, 1e3 / head.resolution_y.value, 2 * layer_mm])
    drawable = np.abs(inward.normals @ np.swapaxes(turns, 1, 2)) @ steps_mm
    limits = drawable.min(axis=0)
    thin = (inward.facing > PARALLEL) & (inward.distance * k < limits)
    thinnest, index, _ = _least(inward, thin, float(limits.max()))
    return (thinnest, float(limits[index]), inward.points[index]) if index >= 0 else None


def gaps(outward: Across, cell: Cell) -> Finding:
    """The narrowest gap against the least from which powder still comes out."""
    limit, source = cell.powder.least_gap.value * 1000, cited(cell.powder.least_gap)
    narrowest, index, share = _least(
        outward, (outward.facing > FACING) & (outward.distance > TOUCHING_MM), limit
    )
    if index < 0:
        text = f"No two surfaces face each other across a gap; {limit:.3g} mm would be the least."
        return ok("narrow gap", text, Against(None, limit, "mm", source))
    against, at_mm = Against(narrowest, limit, "mm", source), place(outward.points[index])
    if narrowest >= limit:
        text = f"No gap is narrower than {limit:.3g} mm; the narrowest found is {narrowest:.3g} mm."
        return ok("narrow gap", text, against, at_mm=at_mm)
    pitch, k = 1e3 / max(cell.head.resolution_x.value, cell.head.resolution_y.value), oversize(cell.powder)
    if narrowest * k < pitch:
        return _shut(narrowest * k, pitch, share, at_mm)
    text = (
        f"A gap is {narrowest:.3g} mm wide; below {limit:.3g} mm {cell.powder.name} does not come out for "
        f"certain. Such gaps lie along {_percent(share)} of the surface."
    )
    remedy = "Widen the gap, or agree that powder stays in it."
    return risk("narrow gap", text, against, remedy, at_mm=at_mm)


def _shut(gap_mm: float, pitch_mm: float, share: float, at: tuple[float, float, float]) -> Finding:
    """A gap that no layer shows: what lies on both sides is printed as one."""
    text = (
        f"A gap is {gap_mm:.3g} mm wide as printed, narrower than a drop ({pitch_mm:.3g} mm): both sides are "
        f"printed as one. Gaps that powder does not leave lie along {_percent(share)} of the surface."
    )
    remedy = "Close it in the drawing, or widen it; bodies of an assembly are printed each by itself."
    return loss("narrow gap", text, Against(gap_mm, pitch_mm, "mm", PRACTICE), remedy, at_mm=at)


def _percent(share: float) -> str:
    return f"{share * 100:.1f} %" if share >= 0.001 else "less than 0.1 %"


def speck(across: Across, limit: float) -> float:
    """Area below which a thin spot is a slip of the mesh [mm2]."""
    return min(LEAST_SHARE * limit**2, LEAST_OF_PART * float(across.areas.sum()))


def _least(across: Across, chosen: ndarray, limit: float) -> tuple[float, int, float]:
    """Least distance once specks are left out, its index (-1: none), and the share of area below `limit`."""
    rows = np.flatnonzero(chosen)
    rows = rows[np.argsort(across.distance[rows], kind="stable")]
    heaped = np.cumsum(across.areas[rows])
    first = int(np.searchsorted(heaped, speck(across, limit)))
    if first >= len(rows):
        return np.inf, -1, 0.0
    index = int(rows[first])
    below = float(across.areas[rows][across.distance[rows] < limit].sum())
    return float(across.distance[index]), index, below / float(across.areas.sum())
