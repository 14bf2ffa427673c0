"""A face looked up among the triangles of a mesh by what a drawing says of it, and fitted [mm].

Corners of a tessellation lie on the exact surface, middles of its facets do not: fits are of corners.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy import ndarray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from sagger.geometry.surface import mesh
from sagger.goods.shape import Shape

NEAR_MM = 1.0  # a place on a drawing may be off by so much
NEAR_SHARE = 0.05  # and a diameter by this share
UPRIGHT = 0.3  # cosine between a facet's normal and the axis, at most
RADIAL = 0.7  # cosine between a facet's normal and the radius, at least
FLAT = 0.9998  # cosine between the normals of a plane's facets, about 1 degree
ON_MM = 0.02  # corners of one face lie so near its surface
ONE_MM = 1e-3  # faces that lie so near one another are one
ROUNDS = 30  # of a fit
LEAST_FACETS = 6  # of a cylinder
TURN = 2 * np.pi


class Fitted(NamedTuple):
    """A face that was found."""

    kind: str  # "bore", "pin" or "plane"
    at: ndarray  # float64 (3,): on the axis at its middle, or the middle of the plane
    along: ndarray  # float64 (3,): axis, or outward normal
    diameter: float  # 0 for planes
    turn: float  # of a full turn that its facets span; 1 for planes
    off: float  # farthest corner from the surface
    triangles: ndarray  # int64 (t,): indices of its facets


def rounds(body: Shape, kind: str, diameter: float, at: ndarray, along: ndarray | None) -> list[Fitted]:
    """Bores or pins near a stated place, best first; halves of one face are taken together.

    Parameters
    ----------
    body : Shape
        Welded, faces outward.
    kind : str
        "bore" (its facets face the axis) or "pin".
    diameter : float
        As stated [mm].
    at, along : array (3,)
        A place near the axis [mm], and its direction; without one x, y and z are tried.
    """
    ways = np.eye(3) if along is None else [along / np.linalg.norm(along)]
    found = [fitted for way in ways for fitted in _near_axis(body, kind, diameter, at, way)]
    return sorted(_joined(body, found), key=lambda fitted: _misfit(fitted, diameter, at))


def planes(body: Shape, at: ndarray, facing: ndarray | None) -> list[Fitted]:
    """Flat faces near a stated place, nearest first; those apart in one plane are told apart."""
    vectors = mesh.area_vectors(body)
    sizes = np.linalg.norm(vectors, axis=1)
    normals = vectors / np.maximum(sizes, 1e-300)[:, None]
    corners = mesh.corners(body)
    heights = np.einsum("ijk,ik->ij", corners - at, normals)
    near = (np.abs(heights) < NEAR_MM).all(axis=1) & (sizes > 0)
    if facing is not None:
        near &= normals @ (facing / np.linalg.norm(facing)) > FLAT
    groups = _together(body, np.flatnonzero(near), normals)
    fits = [_flat(body, rows, vectors) for rows in groups]
    flat = [fitted for fitted in fits if fitted.off < ON_MM]
    return sorted(flat, key=lambda fitted: apart(body, fitted, at))


def cylinder(points: ndarray, at: ndarray, along: ndarray, radius: float) -> tuple[ndarray, ndarray, float]:
    """Least-squares cylinder through points: place on its axis, direction, radius.

    Parameters
    ----------
    points : array (n, 3)
        At least six, not all on one ring of less than half a turn.
    at, along, radius : array (3,), array (3,), float
        Where to start.

    Source
    ------
    Orthogonal distance regression by Gauss-Newton on five parameters (two of place, two of tilt, radius).
    """
    for _ in range(ROUNDS):
        x, y = across(along)
        q = points - at
        u, v, h = q @ x, q @ y, q @ along
        r = np.maximum(np.hypot(u, v), 1e-12)
        cos, sin = u / r, v / r
        rows = np.stack([cos, sin, h * cos, h * sin, np.ones(len(r))], axis=1)
        step = np.linalg.lstsq(rows, r - radius, rcond=None)[0]
        at = at + step[0] * x + step[1] * y
        along = along + step[2] * x + step[3] * y
        along, radius = along / np.linalg.norm(along), radius + float(step[4])
        if np.abs(step).max() < 1e-12 * max(1.0, radius):
            break
    return at, along, radius


def turn_spanned(points: ndarray, at: ndarray, along: ndarray) -> float:
    """Share of a full turn that points about an axis leave no gap in."""
    x, y = across(along)
    angles = np.sort(np.arctan2((points - at) @ y, (points - at) @ x))
    gaps = np.diff(np.append(angles, angles[0] + TURN))
    usual = float(np.median(gaps[gaps > 1e-6])) if (gaps > 1e-6).any() else TURN
    widest = float(gaps.max())
    return 1.0 if widest < max(2.5 * usual, 0.7) else 1 - widest / TURN


def _near_axis(body: Shape, kind: str, diameter: float, at: ndarray, along: ndarray) -> Iterator[Fitted]:
    """Each run of facets that could be the face, fitted."""
    vectors, corners = mesh.area_vectors(body), mesh.corners(body)
    normals = vectors / np.maximum(np.linalg.norm(vectors, axis=1), 1e-300)[:, None]
    room = NEAR_MM + NEAR_SHARE * diameter / 2
    q = corners - at
    radial = q - (q @ along)[..., None] * along
    distance = np.linalg.norm(radial, axis=2)
    middle = radial.mean(axis=1)
    outward = np.einsum("ij,ij->i", normals, middle) / np.maximum(np.linalg.norm(middle, axis=1), 1e-12)
    side = -outward if kind == "bore" else outward
    chosen = (np.abs(distance - diameter / 2) < room).all(axis=1) & (side > RADIAL)
    chosen &= np.abs(normals @ along) < UPRIGHT
    for rows in _together(body, np.flatnonzero(chosen), normals, 0.8):
        fitted = _round(body, kind, rows, (at, along, diameter / 2))
        if fitted is not None and abs(fitted.diameter - diameter) <= max(NEAR_SHARE * diameter, 0.05):
            yield fitted


def _round(body: Shape, kind: str, rows: ndarray, start: tuple[ndarray, ndarray, float]) -> Fitted | None:
    """A cylinder through facets, those that leave it dropped round by round; None if none is left."""
    at, along, radius = start
    corners = mesh.corners(body)
    for bound in (1.0, 0.2, ON_MM, ON_MM):
        points = body.vertices[np.unique(body.triangles[rows])]
        if len(rows) < LEAST_FACETS or len(points) < LEAST_FACETS:
            return None
        at, along, radius = cylinder(points, at, along, radius)
        off = np.abs(_distance(corners[rows], at, along) - radius).max(axis=1)
        rows = rows[off < max(bound, 3 * float(np.median(off)))]
    if not len(rows) or not np.isfinite(radius) or radius <= 0:
        return None
    points = body.vertices[np.unique(body.triangles[rows])]
    off = float(np.abs(_distance(points, at, along) - radius).max())
    if off > ON_MM or len(rows) < LEAST_FACETS:
        return None
    heights = (points - at) @ along
    middle = at + along * (heights.min() + heights.max()) / 2
    return Fitted(kind, middle, along, 2 * radius, turn_spanned(points, at, along), off, rows)


def _joined(body: Shape, fits: list[Fitted]) -> list[Fitted]:
    """Halves of one face as one: same axis and diameter, and heights that overlap."""
    made = list[Fitted]()
    for fitted in sorted(fits, key=lambda fitted: -len(fitted.triangles)):
        place = next((n for n, other in enumerate(made) if _of_one(body, fitted, other)), None)
        if place is None:
            made.append(fitted)
            continue
        rows = np.union1d(made[place].triangles, fitted.triangles)
        start = (made[place].at, made[place].along, made[place].diameter / 2)
        made[place] = _round(body, fitted.kind, rows, start) or made[place]
    return made


def _of_one(body: Shape, one: Fitted, other: Fitted) -> bool:
    offset = one.at - other.at
    aside = float(np.linalg.norm(offset - (offset @ other.along) * other.along))
    alike = abs(one.along @ other.along) > FLAT and abs(one.diameter - other.diameter) < 10 * ONE_MM
    if not alike or aside > 10 * ONE_MM:
        return False
    spans = [span(body, fitted, other.along) for fitted in (one, other)]
    return bool(min(spans[0][1], spans[1][1]) > max(spans[0][0], spans[1][0]))


def span(body: Shape, fitted: Fitted, along: ndarray) -> tuple[float, float]:
    """Lowest and highest corner of a face along a direction [mm]."""
    heights = body.vertices[np.unique(body.triangles[fitted.triangles])] @ along
    return float(heights.min()), float(heights.max())


def _misfit(fitted: Fitted, diameter: float, at: ndarray) -> float:
    """How far a face is from what was stated [mm]: aside, in diameter, and beyond its ends."""
    offset = at - fitted.at
    aside = float(np.linalg.norm(offset - (offset @ fitted.along) * fitted.along))
    return aside + abs(fitted.diameter - diameter)


def _flat(body: Shape, rows: ndarray, vectors: ndarray) -> Fitted:
    points = body.vertices[np.unique(body.triangles[rows])]
    facing = vectors[rows].sum(axis=0)
    facing = facing / max(float(np.linalg.norm(facing)), 1e-300)
    sizes = np.linalg.norm(vectors[rows], axis=1)
    middle = np.average(mesh.corners(body)[rows].mean(axis=1), axis=0, weights=sizes)
    off = float(np.abs((points - middle) @ facing).max())
    return Fitted("plane", middle, facing, 0.0, 1.0, off, rows)


def apart(body: Shape, fitted: Fitted, at: ndarray) -> float:
    """From a place to a flat face [mm], along its normal and then to its nearest facet."""
    corners = mesh.corners(body)[fitted.triangles]
    height = abs(float((at - fitted.at) @ fitted.along))
    flat = at - ((at - fitted.at) @ fitted.along) * fitted.along
    return height + _to_facets(corners, flat)


def _to_facets(corners: ndarray, at: ndarray) -> float:
    """From a point in their plane to the nearest of these triangles [mm]; 0 inside one."""
    edges = np.roll(corners, -1, axis=1) - corners
    q = at - corners
    along = np.clip((q * edges).sum(axis=2) / np.maximum((edges**2).sum(axis=2), 1e-300), 0, 1)
    distance = np.linalg.norm(q - along[..., None] * edges, axis=2).min(axis=1)
    normals = np.cross(edges[:, 0], edges[:, 1])
    sides = np.einsum("ijk,ik->ij", np.cross(edges, q), normals)
    inside = (sides >= 0).all(axis=1)
    return 0.0 if inside.any() else float(distance.min())


def _together(body: Shape, rows: ndarray, normals: ndarray, alike: float = FLAT) -> list[ndarray]:
    """Facets in runs that share edges over which the surface turns little."""
    if not len(rows):
        return []
    sides = np.sort(
        np.stack([body.triangles[rows], np.roll(body.triangles[rows], -1, axis=1)], axis=2), axis=2
    )
    flat = sides.reshape(-1, 2)
    _, edge = np.unique(flat, axis=0, return_inverse=True)
    order = np.argsort(edge.ravel(), kind="stable")
    same = np.flatnonzero(np.diff(edge.ravel()[order]) == 0)
    a, b = order[same] // 3, order[same + 1] // 3
    smooth = np.einsum("ij,ij->i", normals[rows[a]], normals[rows[b]]) > alike
    links = coo_array((np.ones(smooth.sum()), (a[smooth], b[smooth])), shape=(len(rows), len(rows)))
    _, label = connected_components(links, directed=False)
    return [rows[label == run] for run in range(int(label.max()) + 1)]


def _distance(points: ndarray, at: ndarray, along: ndarray) -> ndarray:
    q = points - at
    return np.asarray(np.linalg.norm(q - (q @ along)[..., None] * along, axis=-1))


def across(along: ndarray) -> tuple[ndarray, ndarray]:
    """Two directions at right angles to one another and to this one."""
    least = np.eye(3)[int(np.argmin(np.abs(along)))]
    x = np.cross(along, least)
    x = x / np.linalg.norm(x)
    return x, np.cross(along, x)
