"""A mesh with what growing faces over it needs: neighbours, turns, slivers [mm]."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray
from scipy.sparse import csr_array
from scipy.sparse.csgraph import connected_components

from sagger.geometry.surface import mesh
from sagger.goods.shape import Shape

SMOOTH = np.cos(np.radians(31.0))  # a larger turn between facets is an edge: an octagon is no cylinder
LEVEL = np.cos(np.radians(0.2))  # facets of one plane turn less
NARROW = 50.0  # times that rounding: a facet no higher looks anywhere
SHARE = 2e-6  # of the part's size, on top: files hold single precision


class LinkedMesh(NamedTuple):
    """A welded mesh with what growing over it needs."""

    body: Shape
    corners: ndarray  # float64 (m, 3, 3)
    normals: ndarray  # float64 (m, 3)
    areas: ndarray  # float64 (m,)
    pairs: ndarray  # int64 (p, 2): facets that share an edge
    turn: ndarray  # float64 (p,): cosine between their normals
    length: ndarray  # float64 (p,): of that edge [mm]
    links: csr_array  # (m, m): facets joined by smooth edges
    joins: csr_array  # (m, m): facets joined by any edge
    slivers: ndarray  # bool (m,): so narrow that rounding decides where they look
    broad: ndarray  # float64 (m,): area of the flat run of facets that each is of [mm2]
    slack: float  # rounding of its numbers [mm]


def linked(body: Shape) -> LinkedMesh:
    """A mesh made ready; its triangles keep their order.

    Parameters
    ----------
    body : Shape
        Need not be closed; corners of one place are made one.
    """
    body = mesh.welded(body)
    vectors = mesh.area_vectors(body)
    areas = np.linalg.norm(vectors, axis=1)
    normals = vectors / np.maximum(areas, 1e-300)[:, None]
    pairs, length = _pairs(body)
    turn = np.einsum("ij,ij->i", normals[pairs[:, 0]], normals[pairs[:, 1]])
    corners, slack = mesh.corners(body), SHARE * float(np.abs(body.vertices).max(initial=0.0))
    longest = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1, initial=0.0)
    slivers = 2 * areas < NARROW * slack * longest
    links, joins = _joined(pairs[turn > SMOOTH], len(areas)), _joined(pairs, len(areas))
    _, run = connected_components(_joined(pairs[turn > LEVEL], len(areas)), directed=False)
    broad = np.bincount(run, weights=areas)[run]
    return LinkedMesh(body, corners, normals, areas, pairs, turn, length, links, joins, slivers, broad, slack)


def together(on: LinkedMesh, facet: int, near: ndarray) -> ndarray:
    """Those of the facets (bool (m,)) that hang together with this one, int64 (t,)."""
    if not near[facet]:
        return np.empty(0, np.int64)
    rows = np.flatnonzero(near)
    _, label = connected_components(on.joins[rows][:, rows], directed=False)
    return np.asarray(rows[label == label[np.searchsorted(rows, facet)]])


def _joined(pairs: ndarray, count: int) -> csr_array:
    both = np.concatenate([pairs, pairs[:, ::-1]])
    return csr_array((np.ones(len(both), np.int8), (both[:, 0], both[:, 1])), shape=(count, count))


def _pairs(body: Shape) -> tuple[ndarray, ndarray]:
    """Facets that share an edge, int64 (p, 2), and its length; where more than two meet, the first two."""
    edges = mesh.edges(body.triangles)
    sides = edges.of_side.ravel()
    order = np.argsort(sides, kind="stable")
    same = np.flatnonzero(np.diff(sides[order]) == 0)
    ends = body.vertices[edges.ends[sides[order[same]]]]
    length = np.linalg.norm(ends[:, 0] - ends[:, 1], axis=1)
    return np.stack([order[same] // 3, order[same + 1] // 3], axis=1), length
