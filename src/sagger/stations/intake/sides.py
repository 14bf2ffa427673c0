"""Lengths of faces by which general tolerances are looked up."""

from __future__ import annotations

import numpy as np
from numpy import ndarray

from sagger.stations.intake.tied import Tied

TINY = 1e-9


def legs_mm(one: int, other: int, tied: Tied) -> tuple[float, float]:
    """How long each of two flat faces is at right angles to the edge between them [mm]."""
    (first, second), ends = (normal(number, tied) for number in (one, other)), []
    edge = np.cross(first, second)
    for number, way in ((one, first), (other, second)):
        along = np.cross(edge, way)
        size = float(np.linalg.norm(along))
        ends.append(longest_mm(number, tied) if size < TINY else _span(number, along / size, tied))
    return ends[0], ends[1]


def longest_mm(number: int, tied: Tied) -> float:
    """The longest of a flat face's sides, taken along the part's axes and across the face [mm]."""
    corners = _corners(number, tied)
    return float(np.ptp(corners, axis=0).max()) if len(corners) else 0.0


def normal(number: int, tied: Tied) -> ndarray:
    """Direction of a flat face, of length 1."""
    face = next(one for one in tied.drawing.faces if one.number == number)
    along = np.asarray(face.along, dtype=float)
    return np.asarray(along / np.linalg.norm(along))


def _span(number: int, way: ndarray, tied: Tied) -> float:
    corners = _corners(number, tied)
    return float(np.ptp(corners @ way)) if len(corners) else 0.0


def _corners(number: int, tied: Tied) -> ndarray:
    rows = tied.facets.get(number)
    if rows is None:
        return np.zeros((0, 3))
    return np.asarray(tied.body.vertices[np.unique(tied.body.triangles[rows])])
