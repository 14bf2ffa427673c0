"""How a shape stands on a plane below it: centre of mass, what touches, how far from tipping [mm]."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.geometry.surface import mesh
from sagger.goods.shape import Shape

TOUCHES_MM = 0.05  # points this near the lowest one touch the plane


class Footing(NamedTuple):
    """How a shape stands."""

    centre: ndarray  # float64 (3,): centre of mass
    hold: float  # from the centre's foot to the nearest edge of what it stands on; negative: it tips over
    breadth: float  # of what it stands on, across its narrowest; 0 for a line or a point


def footing(body: Shape) -> Footing:
    """How the shape stands on the plane at its lowest point; material is even."""
    centre = centre_of_mass(body)
    used = body.vertices[np.unique(body.triangles)]
    low = used[used[:, 2] <= used[:, 2].min() + TOUCHES_MM, :2]
    edges = _hull(low)
    if edges is None:
        away = float(np.min(np.linalg.norm(low - centre[:2], axis=1)))
        return Footing(centre, -away, 0.0)
    normals, offsets = edges
    hold = float(np.min(offsets - normals @ centre[:2]))
    reach = low @ normals.T
    return Footing(centre, hold, float(np.min(reach.max(axis=0) - reach.min(axis=0))))


def centre_of_mass(body: Shape) -> ndarray:
    """Centre of mass of the enclosed volume, float64 (3,); of the corners if nothing is enclosed."""
    origin = body.vertices.mean(axis=0)
    corners = mesh.corners(body) - origin
    volumes = np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / 6
    total = float(volumes.sum())
    if total <= 0:
        return np.asarray(origin)
    return np.asarray(origin + (volumes[:, None] * corners.sum(axis=1) / 4).sum(axis=0) / total)


def _hull(points: ndarray) -> tuple[ndarray, ndarray] | None:
    """Outward normals and offsets of the sides of the convex hull; None for fewer than three corners."""
    from scipy.spatial import ConvexHull, QhullError

    spread = points - points.mean(axis=0)
    if len(points) < 3 or np.linalg.svd(spread, compute_uv=False)[1] < TOUCHES_MM:
        return None
    try:
        sides = ConvexHull(points).equations
    except QhullError:
        return None
    return sides[:, :2], -sides[:, 2]
