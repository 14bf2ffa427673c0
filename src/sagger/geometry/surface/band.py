"""The face that one triangle of a mesh belongs to: grown over smooth edges, fitted, and its facets [mm].

Corners of a tessellation lie on the exact surface, and two facets that share a line of a cylinder tell its
axis: guesses come from pairs and from rings of facets, each is grown and fitted, the largest that holds is
taken.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy import ndarray
from scipy.sparse.csgraph import breadth_first_order

from sagger.geometry.surface import lookup, round_fits
from sagger.geometry.surface.links import LEVEL, SMOOTH, LinkedMesh, together
from sagger.geometry.surface.lookup import Fitted
from sagger.geometry.surface.round_fits import RoundFace

TURNS = np.cos(np.radians(0.5))  # facets of a curve turn more
BOUNDS = (0.05, 0.02, 0.01)  # corners of one face lie so near its surface [mm], by rounds of fitting
FLAT_MM = 2e-3  # and so near a plane
ALONG = 0.03  # cosine between a facet's normal and the axis of a face that it is part of
ARC = 0.45  # of a turn: a shorter face does not hold its radius
ROUNDS = 5  # of growing a plane
RINGS = (1, 2, 4, 8)  # around a facet, that guesses are made from
PAIRS = 6  # of neighbouring facets, that guesses are made from
MOST_OF_RING = 400  # facets a guess is made from
BROADER = 4.0  # times its neighbours' area: what lies so between curves is a plane
MOST_BLENDED = 0.6  # of a rim: with more it is none
ALIKE = 0.99  # times as large: then the one that its corners lie nearer is taken
CLEARLY = 1.3  # times as large must a face be to go before one of a plainer kind
BLEND = np.cos(np.radians(20.0))  # a smaller turn at a rim is no edge
SURE_MM = 2e-3  # half of a face's corners lie so near it
MOST_INSIDE = 0.98  # of a flat run must be part of the round face it is of
MOST_FLAT = 0.6  # of a round face in one plane
LEAST_TURNS = 2  # edges over which a face must turn to be round


def grown(on: LinkedMesh, facet: int) -> Fitted | None:
    """The plane, bore, pin, cone or sphere that a facet is part of; None if it is part of none of these.

    Parameters
    ----------
    facet : int
        Which triangle.

    Source
    ------
    Guesses as described above; least-squares fits by Gauss-Newton, see `lookup.cylinder`.
    """
    flat = _level(on, facet)
    best, most = None, 0.0
    for kind in ("cylinder", "cone", "sphere"):  # two rings of corners lie on a sphere, too
        face = _best(on, facet, kind, flat)
        size = 0.0 if face is None else float(on.areas[face.rows].sum())
        if face is not None and size > CLEARLY * most and _sure(on, face):
            best, most = face, size
    if best is not None:
        return _fitted(on, best)
    return _plane(on, flat) if _bounded(on, flat) else None


def _explains(on: LinkedMesh, flat: ndarray, rows: ndarray) -> bool:
    """Whether a round face takes in the flat run around the facet, and is more than that."""
    inside = np.isin(flat, rows)
    if on.areas[flat[inside]].sum() < MOST_INSIDE * on.areas[flat].sum():
        return False
    return bool(on.areas[flat].sum() < MOST_FLAT * on.areas[rows].sum()) and _curved(on, rows)


def _sure(on: LinkedMesh, face: RoundFace) -> bool:
    """Whether most of the corners lie on the face itself and not merely near it, as on a free form."""
    points, weights = _weighed(on, face.rows)
    off = np.abs(round_fits.off(round_fits.settled(points, weights, face), points))
    return float(np.median(off)) < SURE_MM + on.slack / 4 and not _goes_on(on, face.rows)


def _goes_on(on: LinkedMesh, rows: ndarray) -> bool:
    """Whether most of the rim of a face curves on as the face does: then it is part of a free form."""
    inside = np.isin(on.pairs, rows)
    rim = inside.sum(axis=1) == 1
    if not rim.any():
        return False
    own, other = on.pairs[rim][inside[rim]], on.pairs[rim][~inside[rim]]
    curves = (on.turn[rim] > BLEND) & (on.turn[rim] < LEVEL) & (on.broad[other] < BROADER * on.broad[own])
    length = on.length[rim]
    return bool(length[curves].sum() > MOST_BLENDED * length.sum())


def cone_of(on: LinkedMesh, rows: ndarray) -> Fitted | None:
    """A cone through facets that are known to be its own; None if they tell none."""
    guess = round_fits.guessed("cone", on.corners[rows], on.normals[rows])
    face = guess and round_fits.refined(*_weighed(on, rows), guess._replace(rows=rows))
    return None if face is None else _fitted(on, face)


def flat_face(on: LinkedMesh, rows: ndarray) -> Fitted:
    """A plane through facets that are known to be its own."""
    return _plane(on, rows)


def _best(on: LinkedMesh, facet: int, kind: str, flat: ndarray) -> RoundFace | None:
    """The largest face of a kind, or the first that its corners lie on exactly."""
    best, most, least = None, 0.0, np.inf
    for face in _grown(on, facet, kind):
        size = float(on.areas[face.rows].sum())
        if size < ALIKE * most or not _explains(on, flat, face.rows):
            continue
        off = float(np.abs(round_fits.off(face, on.corners[face.rows])).max())
        if size * ALIKE > most or off < least:
            best, most, least = face, size, off
        if off < on.slack:
            break
    return best


def _grown(on: LinkedMesh, facet: int, kind: str) -> Iterator[RoundFace]:
    """Every guess of a kind that grew into a face."""
    for rows in _patches(on, facet):
        face = _tried(on, facet, kind, rows)
        if face is not None:
            yield face


def _tried(on: LinkedMesh, facet: int, kind: str, rows: ndarray) -> RoundFace | None:
    face = round_fits.guessed(kind, on.corners[rows], on.normals[rows])
    for bound in BOUNDS:
        if face is None:
            return None
        near = round_fits.near(face, on.corners, _looks(on), bound + on.slack)
        own = together(on, facet, near)
        if len(own) < round_fits.LEAST[kind]:
            return None
        face = round_fits.refined(*_weighed(on, own), face._replace(rows=own))
    if face is None:
        return None
    near = round_fits.near(face, on.corners, _looks(on), BOUNDS[-1] + on.slack)
    own = together(on, facet, near)
    return face._replace(rows=own) if len(own) >= round_fits.LEAST[kind] else None


def _patches(on: LinkedMesh, facet: int) -> Iterator[ndarray]:
    """Facets to guess from: rings around this one, pairs that turn, and what runs as those do."""
    allowed = np.flatnonzero((on.broad <= BROADER * on.broad[facet]) & ~on.slivers)
    if facet not in allowed:
        return
    at = int(np.searchsorted(allowed, facet))
    order, before = breadth_first_order(on.links[allowed][:, allowed], at, return_predecessors=True)
    near, depth = order[:MOST_OF_RING], np.zeros(len(allowed), np.int64)
    for one in near[1:]:
        depth[one] = depth[before[one]] + 1
    for ring in RINGS:
        yield allowed[near[depth[near] <= ring]]
    close = near[depth[near] <= 2]
    touching = np.isin(on.pairs, allowed[close]).all(axis=1) & (on.turn > SMOOTH) & (on.turn < TURNS)
    pairs = on.pairs[touching]
    ahead = depth[np.searchsorted(allowed, pairs)].sum(axis=1)
    rows = allowed[near]
    for pair in pairs[np.argsort(ahead, kind="stable")][:PAIRS]:
        axis = np.cross(*on.normals[pair])
        alike = np.abs(on.normals[rows] @ axis) < ALONG * np.linalg.norm(axis)
        yield rows[alike]
        yield pair


def _level(on: LinkedMesh, facet: int) -> ndarray:
    """The facets of one plane with this one."""
    facing, at = on.normals[facet], on.corners[facet].mean(axis=0)
    rows = np.array([facet])
    for _ in range(ROUNDS):
        height = np.abs((on.corners - at) @ facing).max(axis=1)
        near = ((on.normals @ facing > LEVEL) | on.slivers) & (height < FLAT_MM + on.slack)
        near[facet] = True
        last, rows = rows, together(on, facet, near)
        at, facing = _middle(on, rows), _facing(on, rows)
        if len(last) == len(rows):
            break
    return rows


def _curved(on: LinkedMesh, rows: ndarray) -> bool:
    """Whether facets turn against one another over more than one edge, and leave their plane clearly."""
    inside = np.isin(on.pairs, rows).all(axis=1)
    points = on.corners[rows].reshape(-1, 3)
    thin = np.linalg.svd(points - points.mean(axis=0), full_matrices=False)[2][2]
    return int((on.turn[inside] < TURNS).sum()) >= LEAST_TURNS and np.ptp(points @ thin) > 4 * BOUNDS[-1]


def _bounded(on: LinkedMesh, flat: ndarray) -> bool:
    """Whether facets are a plane and not some of a free-form face: an edge bounds them, or they are broad."""
    inside = np.isin(on.pairs, flat)
    rim = inside.sum(axis=1) == 1
    if not rim.any() or (on.turn[rim] < SMOOTH).any():
        return True
    others = on.pairs[rim][~inside[rim]]
    return bool(on.areas[flat].sum() > BROADER * float(np.median(on.areas[others])))


def _plane(on: LinkedMesh, rows: ndarray) -> Fitted:
    middle, facing = _middle(on, rows), _facing(on, rows)
    off = float(np.abs((on.corners[rows] - middle) @ facing).max())
    return Fitted("plane", middle, facing, 0.0, 1.0, off, rows)


def _facing(on: LinkedMesh, rows: ndarray) -> ndarray:
    facing = (on.normals[rows] * on.areas[rows, None]).sum(axis=0)
    return np.asarray(facing / max(float(np.linalg.norm(facing)), 1e-300))


def _middle(on: LinkedMesh, rows: ndarray) -> ndarray:
    return np.asarray(np.average(on.corners[rows].mean(axis=1), axis=0, weights=on.areas[rows] + 1e-300))


def _weighed(on: LinkedMesh, rows: ndarray) -> tuple[ndarray, ndarray]:
    """Corners of facets, and the area that each stands for: small ones are often of the next face."""
    corner, of = np.unique(on.body.triangles[rows], return_inverse=True)
    weights = np.bincount(of.ravel(), weights=np.repeat(on.areas[rows], 3))
    return on.body.vertices[corner], weights / max(float(weights.max()), 1e-300)


def _fitted(on: LinkedMesh, face: RoundFace) -> Fitted:
    points, weights = _weighed(on, face.rows)
    face = round_fits.settled(points, weights, face)
    if face.kind == "cylinder" and lookup.turn_spanned(points, face.at, face.along) < ARC:
        face = round_fits.rounded(points, weights, face)
    off = float(np.abs(round_fits.off(face, points)).max())
    if face.kind == "sphere":
        return Fitted("sphere", face.at, face.along, 2 * face.radius, 1.0, off, face.rows)
    heights = (points - face.at) @ face.along
    middle = float(heights.min() + heights.max()) / 2
    kind = "cone" if face.kind == "cone" else "pin" if face.outward else "bore"
    at, radius = face.at + middle * face.along, face.radius + middle * face.slope
    return Fitted(
        kind, at, face.along, 2 * radius, lookup.turn_spanned(points, at, face.along), off, face.rows
    )


def _looks(on: LinkedMesh) -> ndarray:
    """Normals, zero where nothing can be said of them."""
    return np.where(on.slivers[:, None], 0.0, on.normals)
