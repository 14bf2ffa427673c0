"""A judge of finished nests that knows nothing of how they were found, with nothing left unchecked.

Shared volume of each pair whose outline boxes meet is manifold3d's where it accepts both meshes (as they
are, welded, or as the hull of a convex one). Otherwise winding numbers tell: how much of many points spread
over the common box lies inside both, and whether a point just under the surface of one is inside the other.
"""

from __future__ import annotations

import itertools
from typing import NamedTuple

import manifold3d
import numpy as np
import trimesh

from sagger.geometry.pile.judge.clearance import apart, surface
from sagger.geometry.pile.judge.winding import windings

POINTS = 4096  # spread over the common box of a pair, and again under the surface of each
UNDER = 1e-3  # of the smaller body's size: how far under the surface is looked


class Body(NamedTuple):
    """One piece where it lies."""

    vertices: np.ndarray
    triangles: np.ndarray
    solid: manifold3d.Manifold | None  # None: the library refuses the mesh
    volume: float

    @property
    def corners(self) -> np.ndarray:
        return self.vertices[self.triangles]

    @property
    def ends(self) -> np.ndarray:
        return np.array([self.corners.min(axis=(0, 1)), self.corners.max(axis=(0, 1))])


class Verdict(NamedTuple):
    shared: float  # largest shared volume of a pair over the smaller one's [-]
    least_gap: float  # smallest distance of a pair, up to what was looked for [mm]; inf if none was nearer
    by_volume: int  # pairs judged by the boolean library
    by_winding: int  # pairs judged by winding numbers
    refused: int  # pieces whose mesh the library refused
    low: np.ndarray  # lower corner of all [mm]
    high: np.ndarray  # upper corner of all [mm]


def solid(vertices: np.ndarray, triangles: np.ndarray) -> manifold3d.Manifold | None:
    """The body as the library takes it: as it is, merged, welded, or the hull of a convex one."""
    mesh = manifold3d.Mesh64(np.ascontiguousarray(vertices, float), triangles.astype(np.uint64))
    made = manifold3d.Manifold(mesh)
    if not made.is_empty():
        return made
    mesh.merge()
    made = manifold3d.Manifold(mesh)
    if not made.is_empty():
        return made
    welded = trimesh.Trimesh(vertices, triangles, process=True)
    welded.merge_vertices(digits_vertex=5)
    welded.update_faces(welded.nondegenerate_faces())
    made = manifold3d.Manifold(manifold3d.Mesh64(welded.vertices, welded.faces.astype(np.uint64)))
    if not made.is_empty():
        return made
    hull = manifold3d.Manifold.hull_points(np.ascontiguousarray(vertices, float))
    return hull if abs(hull.volume() - enclosed(vertices, triangles)) < 1e-6 * hull.volume() else None


def enclosed(vertices: np.ndarray, triangles: np.ndarray) -> float:
    """Volume by the divergence theorem, whichever way the faces are turned [mm3]."""
    at = vertices[triangles]
    return abs(float(np.einsum("ij,ij->i", at[:, 0], np.cross(at[:, 1], at[:, 2])).sum() / 6))


def body(vertices: np.ndarray, triangles: np.ndarray) -> Body:
    return Body(vertices, triangles, solid(vertices, triangles), enclosed(vertices, triangles))


def verify(bodies: list[Body], near: float = 0.0) -> Verdict:
    """Overlaps of all pairs, and distances of those nearer than `near` [mm] (0: none are measured)."""
    ends = [one.ends for one in bodies]
    shared, least, by_volume, by_winding = 0.0, np.inf, 0, 0
    for a, b in itertools.combinations(range(len(bodies)), 2):
        low, high = np.maximum(ends[a][0], ends[b][0]), np.minimum(ends[a][1], ends[b][1])
        if near > 0 and (high - low > -near).all():
            least = min(least, distance(bodies[a], bodies[b], near))
        if (high - low <= 0).any():
            continue
        whole = bodies[a].solid is not None and bodies[b].solid is not None
        by_volume, by_winding = by_volume + whole, by_winding + (not whole)
        shared = max(shared, common(bodies[a], bodies[b], low, high))
    low, high = np.min([end[0] for end in ends], axis=0), np.max([end[1] for end in ends], axis=0)
    refused = sum(one.solid is None for one in bodies)
    return Verdict(shared, least, by_volume, by_winding, refused, low, high)


def distance(one: Body, two: Body, near: float) -> float:
    if one.solid is not None and two.solid is not None:
        gap = float(one.solid.min_gap(two.solid, near))
        return gap if gap < near else np.inf
    gap = apart(surface(one.corners), surface(two.corners), np.zeros(3), near)
    return gap if gap < near else np.inf


def common(one: Body, two: Body, low: np.ndarray, high: np.ndarray) -> float:
    """Shared volume of two bodies over the smaller one's [-]; `low`, `high`: of their common box."""
    smaller = min(one.volume, two.volume)
    if one.solid is not None and two.solid is not None:
        return float((one.solid ^ two.solid).volume()) / smaller
    luck = np.random.default_rng(0)
    points = low + luck.random((POINTS, 3)) * (high - low)
    both = inside(one, points) & inside(two, points)
    share = both.mean() * float(np.prod(high - low)) / smaller
    depth = UNDER * smaller ** (1 / 3)
    thin = max(under(a, b, low, high, depth, luck) for a, b in ((one, two), (two, one)))
    return float(max(share, thin / smaller))


def inside(one: Body, points: np.ndarray) -> np.ndarray:
    return np.abs(windings(one.corners, points)) > 0.5


def under(
    one: Body, two: Body, low: np.ndarray, high: np.ndarray, depth: float, luck: np.random.Generator
) -> float:
    """Volume of the skin of one, `depth` thick, whose underside is inside two: scattered points miss it."""
    at = one.corners
    normals = np.cross(at[:, 1] - at[:, 0], at[:, 2] - at[:, 0])
    normals *= np.sign(np.einsum("ij,ij->", at[:, 0], normals))  # outward, however the faces are turned
    areas = np.linalg.norm(normals, axis=1)
    which = luck.choice(len(at), POINTS, p=areas / areas.sum())
    s, t = luck.random((2, POINTS))
    s, t = np.where(s + t > 1, 1 - s, s)[:, None], np.where(s + t > 1, 1 - t, t)[:, None]
    points = at[which, 0] + s * (at[which, 1] - at[which, 0]) + t * (at[which, 2] - at[which, 0])
    points -= depth * normals[which] / areas[which, None]
    points = points[((points > low) & (points < high)).all(axis=1)]
    points = points[inside(one, points)]
    return float(inside(two, points).sum()) / POINTS * float(areas.sum()) / 2 * depth
