"""What layers and drops alone leave of a roughness that a drawing asks for; the powder's comes on top."""

from __future__ import annotations

import dataclasses
import math
from functools import reduce
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.geometry.surface import mesh
from sagger.goods.cell import Cell
from sagger.goods.drawing import Drawing, GeometricTolerance
from sagger.goods.order import Choices
from sagger.physics.drops.stairs import Stairs, crossed, stairs
from sagger.stations.intake.drawn import layer
from sagger.stations.intake.fit import oversize
from sagger.stations.intake.tied import ROUGHNESS, Tied

PARAMETERS = {"Ra": "ra", "Rq": "rq", "Rz": "depth"}
NONE = Stairs(0.0, 0.0, 0.0, 0.0, 0.0)
FLAT = 0.999  # of a normal: such a face lies at one layer, or between two rows of drops


class Rough(NamedTuple):
    """What a line asks, and the stairs on its faces, finished size [mm]."""

    parameter: str
    asked: float
    filed: float  # lying as filed
    best: float  # in the best of the orientations that are allowed


def told(tied: Tied, drawing: Drawing, turns: ndarray, cell: Cell, choices: Choices) -> Drawing:
    """The drawing, its lines of roughness with what stairs alone come to.

    Parameters
    ----------
    tied : Tied
        The body, and the facets of faces.
    drawing : Drawing
        With what the promise counts of it.
    turns : array (t, 3, 3)
        Orientations that are allowed, as filed first.
    cell, choices
        Layer and lattice.
    """
    pitches = (1e3 / cell.head.resolution_x.value, 1e3 / cell.head.resolution_y.value)
    steps = (*pitches, layer(cell, choices))
    k = oversize(cell.powder)

    def with_stairs(zone: GeometricTolerance) -> GeometricTolerance:
        normals = _normals(zone, tied)
        if zone.kind != ROUGHNESS or zone.machined_mm is not None or not len(normals):
            return zone
        alone = [_stairs(zone.modifiers[0], normals @ turn.T, steps) / k for turn in turns]
        return dataclasses.replace(
            zone, why=_words(Rough(zone.modifiers[0], zone.width_mm, alone[0], min(alone)))
        )

    return dataclasses.replace(drawing, tolerances=tuple(map(with_stairs, drawing.tolerances)))


def _words(rough: Rough) -> str:
    """Why it is not evaluated, and what is known."""
    against = "more than asked" if rough.best > rough.asked else "as filed more than asked"
    over = f", {against}" if rough.filed > rough.asked else ""
    better = f", {rough.best * 1e3:.1f} µm in the best orientation" if rough.best < 0.99 * rough.filed else ""
    return (
        f"layers and drops alone leave {rough.parameter} {rough.filed * 1e3:.1f} µm as filed{better}{over}; "
        "the powder's roughness comes on top and is on no card"
    )


def _normals(zone: GeometricTolerance, tied: Tied) -> ndarray:
    """Directions that its faces look in, float64 (n, 3), each once."""
    rows = [tied.facets[number] for number in zone.faces if number in tied.facets]
    if zone.kind != ROUGHNESS or not rows:
        return np.zeros((0, 3))
    vectors = mesh.area_vectors(tied.body)[np.concatenate(rows)]
    lengths = np.linalg.norm(vectors, axis=1)
    unit = vectors[lengths > 0] / lengths[lengths > 0, None]
    return np.unique(np.round(unit, 3), axis=0)


def _stairs(parameter: str, normals: ndarray, steps: tuple[float, float, float]) -> float:
    """The largest over directions, green size [mm]."""
    return max(float(getattr(_of(normal, steps), PARAMETERS[parameter])) for normal in np.abs(normals))


def _of(normal: ndarray, steps: tuple[float, float, float]) -> Stairs:
    """On a face whose outward direction has these sizes along the machine's axes [mm]."""
    if normal.max() > FLAT:
        return NONE
    left = (stairs(step, math.acos(size)) for step, size in zip(steps, normal.tolist(), strict=True))
    return reduce(crossed, left)
