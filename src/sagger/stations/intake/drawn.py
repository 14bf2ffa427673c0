"""Findings about what is left of a part once bleed and soaking depth are taken off its drops."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import numpy as np
from numpy import ndarray

from sagger.geometry.wall.thickness import Across
from sagger.goods.cell import Cell
from sagger.goods.finding import Against, Finding, loss
from sagger.goods.order import Choices, Nesting, Request
from sagger.stations.intake.fit import oversize
from sagger.stations.intake.surface import place
from sagger.stations.intake.walls import speck

ONE_WALL = 0.05  # of its thickness: two findings so near are of one wall
PARALLEL = 0.97  # within 14 degrees: a wall of one thickness, and one that lies flat or stands upright


def asked(choices: Choices) -> Choices:
    """What of the choices a part is looked at with; other choices do not have it looked at again."""
    nesting = Nesting(prefer="sag") if choices.nesting.prefer == "sag" else Nesting()
    return Choices(
        layer_um=choices.layer_um, bleed_um=choices.bleed_um, depth_um=choices.depth_um, nesting=nesting
    )


def vanishing(
    inward: Across, turns: ndarray, cell: Cell, request: Request, choices: Choices
) -> Iterator[Finding]:
    """Look where a wall is as thin as twice the bleed, or a plate as thin as the soaking depth.

    Such a place is not drawn at all. Taken is the orientation in which the thinnest of them would vanish.
    """
    bleed_mm = _said(request.bleed_um, choices.bleed_um)
    layer_mm = layer(cell, choices)
    depth_mm = round(_said(request.depth_um, choices.depth_um) / layer_mm) * layer_mm
    rise = np.abs((inward.normals @ np.swapaxes(turns, 1, 2))[..., 2])  # (turns, points): 1 where flat
    flat, upright = rise.max(axis=0) > PARALLEL, rise.min(axis=0) < np.sqrt(1 - PARALLEL**2)
    wall, plate = "A wall that may stand upright", "A plate that may lie flat"
    cases = (
        ("wall thinner than bleed", wall, upright, 2 * bleed_mm, "twice the bleed"),
        ("plate thinner than soak", plate, flat, depth_mm, "the soaking depth"),
    )
    k = oversize(cell.powder)
    for title, subject, lies, limit, name in cases:
        thin = lies & (inward.facing > PARALLEL) & (inward.distance * k <= limit)
        if limit <= 0 or inward.areas[thin].sum() < speck(inward, cell.powder.least_wall.value * 1e3):
            continue
        index = int(np.flatnonzero(thin)[np.argmin(inward.distance[thin])])
        thinnest = float(inward.distance[index]) * k
        text = f"{subject} is {thinnest:.3g} mm thick as printed and is not drawn: {name} is {limit:.3g} mm."
        remedy = "Compensate this part by less, with bleed and depth in its own table, or thicken it."
        yield loss(
            title, text, Against(thinnest, limit, "mm", "choices"), remedy, at_mm=place(inward.points[index])
        )


def once(thin: Finding, gone: Iterable[Finding], k: float) -> Iterator[Finding]:
    """The thinnest wall said once: as one that is not drawn where it is, else as one that is thin.

    `k` is green over finished length: walls that vanish are measured as printed.
    """
    others = list(gone)
    if thin.value is None or thin.level == "ok":
        yield from (thin, *others)
    elif thin.level == "stop":
        yield thin
        yield from (other for other in others if not _same(other.value, thin.value))
    else:
        if not any(_same(other.value, thin.value * k) for other in others):
            yield thin
        yield from others


def _same(one_mm: float | None, other_mm: float) -> bool:
    return one_mm is not None and abs(one_mm - other_mm) <= ONE_WALL * other_mm


def layer(cell: Cell, choices: Choices) -> float:
    """Layer height, chosen or the powder's [mm]."""
    return cell.powder.layer.value * 1e3 if choices.layer_um is None else choices.layer_um / 1e3


def _said(own: float | None, common: float | None) -> float:
    """In mm; what the part says goes first."""
    return ((common if own is None else own) or 0.0) / 1e3
