"""Sections of placed parts by a general solid library: the other path on which an export is checked."""

from __future__ import annotations

from typing import NamedTuple

import manifold3d
import numpy as np
from numpy import ndarray
from scipy import ndimage

from sagger.goods.shape import Shape
from sagger.goods.stack import Treatment

_NEAR_MM = 1e-6  # a face that lies in the plane counts as drawn, as it does in the cutter
_CANDIDATES = 400  # places whose distance is worked out one by one


class Outline(NamedTuple):
    """Segments of a section, solid on the left [mm]."""

    starts: ndarray  # float64 (n, 2)
    ends: ndarray

    @property
    def area(self) -> float:
        x, y = self.starts.T
        u, v = self.ends.T
        return 0.5 * float((x * v - u * y).sum())

    @property
    def length(self) -> float:
        return float(np.hypot(*(self.ends - self.starts).T).sum())


def body(shape: Shape, placement: ndarray) -> manifold3d.Manifold:
    """The solid in its place."""
    vertices = shape.vertices @ placement[:3, :3].T + placement[:3, 3]
    triangles = shape.triangles
    if np.linalg.det(placement[:3, :3]) < 0:
        triangles = triangles[:, ::-1]
    mesh = manifold3d.Mesh64(
        vert_properties=np.ascontiguousarray(vertices), tri_verts=np.ascontiguousarray(triangles, np.uint64)
    )
    mesh.merge()
    return manifold3d.Manifold(mesh)


def plain(solid: manifold3d.Manifold, height_mm: float) -> Outline:
    """The section at a height."""
    return _outline(solid.slice(height_mm - _NEAR_MM))


def wanted(solid: manifold3d.Manifold, height_mm: float, below_mm: float, treatment: Treatment) -> Outline:
    """The section as it must be drawn: inside by the bleed, and where the part is `below_mm` lower too."""
    if not below_mm and not treatment.bleed_mm:
        return plain(solid, height_mm)
    heights = (height_mm, height_mm - below_mm) if below_mm else (height_mm,)
    parts = [solid.slice(height - _NEAR_MM) for height in heights]
    if treatment.bleed_mm:
        parts = [
            part.offset(-treatment.bleed_mm, manifold3d.JoinType.Round, circular_segments=128)
            for part in parts
        ]
    return _outline(parts[0] if len(parts) == 1 else parts[0] ^ parts[1])


def inside(x: ndarray, y: ndarray, outline: Outline) -> ndarray:
    """Which of the places (y, x) lie inside the rings, by even and odd crossings."""
    starts, ends = outline
    flips = np.zeros((len(y), len(x) + 1), np.int32)
    upward = (starts[:, 1] < ends[:, 1])[:, None]
    low, high = np.where(upward, starts, ends), np.where(upward, ends, starts)
    first = np.searchsorted(y, low[:, 1])
    counts = np.searchsorted(y, high[:, 1]) - first
    which = np.repeat(np.arange(len(low)), counts)
    rows = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts) + first[which]
    slope = (high[which, 0] - low[which, 0]) / (high[which, 1] - low[which, 1])
    crossing = low[which, 0] + (y[rows] - low[which, 1]) * slope
    np.add.at(flips, (rows, np.searchsorted(x, crossing)), 1)
    odd: ndarray = np.cumsum(flips, axis=1)[:, :-1] % 2 == 1
    return odd


def farthest(wrong: ndarray, solid: ndarray, x: ndarray, y: ndarray, outline: Outline) -> float:
    """Largest distance from the outline of a place on the wrong side of it [mm].

    Where there is no outline it is the distance from the nearest place that is right.

    Parameters
    ----------
    wrong, solid : bool (y, x)
        Places on the wrong side; places inside the outline.
    """
    if not wrong.any():
        return 0.0
    step = (abs(y[1] - y[0]), abs(x[1] - x[0]))
    if not len(outline.starts):
        return float(depth(wrong, step).max())
    outside = ndimage.distance_transform_edt(~solid, sampling=step) if solid.any() else np.zeros(solid.shape)
    rough = depth(solid, step) + outside
    near = np.argwhere(wrong & (rough >= rough[wrong].max() - 2 * np.hypot(*step)))
    near = near[np.argsort(-rough[tuple(near.T)])][:_CANDIDATES]
    return max(_distance(x[c], y[r], outline) for r, c in near)


def depth(places: ndarray, step: tuple[float, float]) -> ndarray:
    """Distance of each of the places from the nearest that is none of them, or from the rim [mm]; else 0."""
    found: ndarray = ndimage.distance_transform_edt(np.pad(places, 1), sampling=step)
    return found[1:-1, 1:-1]


def _outline(section: manifold3d.CrossSection) -> Outline:
    rings = [np.asarray(ring) for ring in section.to_polygons()]
    if not rings:
        return Outline(np.empty((0, 2)), np.empty((0, 2)))
    return Outline(np.concatenate(rings), np.concatenate([np.roll(ring, -1, axis=0) for ring in rings]))


def _distance(x: float, y: float, outline: Outline) -> float:
    along = outline.ends - outline.starts
    square = np.maximum((along**2).sum(axis=1), 1e-30)
    share = np.clip(((np.array([x, y]) - outline.starts) * along).sum(axis=1) / square, 0, 1)
    return float(np.hypot(*(outline.starts + share[:, None] * along - [x, y]).T).min())
