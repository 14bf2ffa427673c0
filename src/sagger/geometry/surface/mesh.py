"""What a triangle mesh measures, and which of its edges do not meet [mm]."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.goods.shape import Shape


class MeshEdges(NamedTuple):
    """Edges of a mesh, each named once."""

    ends: ndarray  # int64 (e, 2): vertices, the lower one first
    sides: ndarray  # int64 (e,): triangles at the edge
    net: ndarray  # int64 (e,): times walked from lower to higher vertex, less the times walked back
    of_side: ndarray  # int64 (m, 3): edge along each triangle's sides 01, 12, 20


def shape(vertices: ndarray, triangles: ndarray) -> Shape:
    """A `Shape` of float64 vertices (n, 3) [mm] and int32 triangles (m, 3)."""
    return Shape(
        vertices=np.ascontiguousarray(vertices, dtype=np.float64),
        triangles=np.ascontiguousarray(triangles, dtype=np.int32),
    )


def merged(shapes: list[Shape]) -> Shape:
    """All shapes in one, untouched otherwise."""
    starts = np.cumsum([0, *(len(each.vertices) for each in shapes)])
    triangles = [each.triangles + start for each, start in zip(shapes, starts, strict=False)]
    return shape(np.concatenate([each.vertices for each in shapes]), np.concatenate(triangles))


def corners(body: Shape) -> ndarray:
    """Corner points of every triangle, float64 (m, 3, 3) [mm]."""
    return np.asarray(body.vertices[body.triangles])


def area_vectors(body: Shape) -> ndarray:
    """Outward normal of every triangle, as long as its area, float64 (m, 3) [mm2]."""
    a, b, c = np.moveaxis(corners(body), 1, 0)
    return np.asarray(np.cross(b - a, c - a) / 2)


def area(body: Shape) -> float:
    """Surface [mm2]."""
    return float(np.linalg.norm(area_vectors(body), axis=1).sum())


def volume(body: Shape) -> float:
    """Enclosed volume [mm3]; negative if the surface is inside-out, meaningless if it is open."""
    if not len(body.triangles):
        return 0.0
    middle = corners(body).mean(axis=1) - body.vertices.mean(axis=0)
    return float(np.einsum("ij,ij->", middle, area_vectors(body)) / 3)


def extent(body: Shape) -> ndarray:
    """Size along x, y, z, float64 (3,) [mm]; vertices without triangles do not count."""
    used = body.vertices[np.unique(body.triangles)]
    return np.asarray(np.ptp(used, axis=0)) if len(used) else np.zeros(3)


def mapped(body: Shape, linear: ndarray) -> Shape:
    """The shape under a linear map (3, 3); a mirror keeps its triangles facing outward."""
    turned = body.triangles if np.linalg.det(linear) > 0 else body.triangles[:, ::-1]
    return shape(body.vertices @ np.asarray(linear).T, turned)


def edges(triangles: ndarray) -> MeshEdges:
    """Edges of a mesh with how often, and which way, each is walked."""
    sides = np.stack([triangles, np.roll(triangles, -1, axis=1)], axis=-1).astype(np.int64).reshape(-1, 2)
    lower, higher = sides.min(axis=1), sides.max(axis=1)
    width = int(higher.max(initial=0)) + 1
    keys, of_side, sides_at = np.unique(lower * width + higher, return_inverse=True, return_counts=True)
    forward = np.where(sides[:, 0] < sides[:, 1], 1, -1)
    net = np.bincount(of_side, weights=forward, minlength=len(keys)).astype(np.int64)
    ends = np.stack([keys // width, keys % width], axis=1)
    return MeshEdges(ends, sides_at, net, of_side.reshape(-1, 3))


def open_edges(body: Shape) -> ndarray:
    """Edges whose triangles do not cancel, int64 (e, 2): none for a closed, consistently wound mesh."""
    seams = edges(body.triangles)
    return np.asarray(seams.ends[seams.net != 0])


def welded(body: Shape) -> Shape:
    """The shape with vertices of equal coordinates made one, unused ones gone, order of triangles kept."""
    used, triangles = np.unique(body.triangles, return_inverse=True)
    points = body.vertices[used] + 0.0  # -0.0 and 0.0 are one place
    order = np.lexsort(points.T)
    ahead = points[order]
    fresh = np.ones(len(points), dtype=bool)
    fresh[1:] = (ahead[1:] != ahead[:-1]).any(axis=1)
    name = np.empty(len(points), dtype=np.int64)
    name[order] = np.cumsum(fresh) - 1
    return shape(points[order[fresh]], name[triangles.reshape(-1, 3)])


def welded_within(body: Shape, tolerance_mm: float) -> Shape:
    """The shape with vertices at open edges that lie closer than `tolerance_mm` (chains too) made one."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components
    from scipy.spatial import cKDTree

    loose = np.unique(open_edges(body))
    if not len(loose):
        return body
    pairs = loose[cKDTree(body.vertices[loose]).query_pairs(tolerance_mm, output_type="ndarray")]
    count = len(body.vertices)
    links = coo_array((np.ones(len(pairs)), pairs.reshape(-1, 2).T), shape=(count, count))
    _, name = connected_components(links, directed=False)
    _, first = np.unique(name, return_index=True)
    return welded(shape(body.vertices[first], name[body.triangles]))


def without_flat(body: Shape) -> Shape:
    """The shape without triangles that have collapsed to an edge or a point (two corners are one vertex)."""
    a, b, c = body.triangles.T
    return shape(body.vertices, body.triangles[(a != b) & (b != c) & (c != a)])


def without_doubles(body: Shape) -> Shape:
    """The shape with each triangle once; a triangle and its mirror image cancel."""
    wound = np.sort(body.triangles, axis=1)
    if not len(wound):
        return body
    odd = _is_odd(body.triangles, wound)
    _, first, group = np.unique(wound, axis=0, return_index=True, return_inverse=True)
    net = np.bincount(group.ravel(), weights=np.where(odd, -1, 1), minlength=len(first))
    facing = np.where(odd[first], -1, 1)
    single = body.triangles[first]
    single = np.where((facing * net < 0)[:, None], single[:, ::-1], single)
    order = np.argsort(first)
    return shape(body.vertices, single[order][net[order] != 0])


def _is_odd(triangles: ndarray, wound: ndarray) -> ndarray:
    """True where sorting a triangle's corners turned it over."""
    start = np.argmax(triangles == wound[:, :1], axis=1)
    after = np.take_along_axis(triangles, ((start + 1) % 3)[:, None], axis=1)[:, 0]
    return np.asarray(after != wound[:, 1])
