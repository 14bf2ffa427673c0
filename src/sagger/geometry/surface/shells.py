"""Shells of a mesh: which triangles hang together, which way they face, which shell lies in which."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.compiled import checked
from sagger.geometry.surface import mesh
from sagger.goods.shape import Shape

PROBES = 16  # vertices of a shell that must all lie inside another before it counts as nested


class Shells(NamedTuple):
    """Connected pieces of surface; pieces that close only together are one shell."""

    of_triangle: ndarray  # int64 (m,): shell of each triangle, from 0
    volume: ndarray  # float64 (s,): signed [mm3]
    depth: ndarray  # int64 (s,): how many other shells lie around it
    parent: ndarray  # int64 (s,): the innermost of these, -1 if none


def wound(body: Shape) -> tuple[Shape, int, int]:
    """The shape with neighbours wound alike, how many triangles were turned, and conflicts left.

    In each connected piece the way most triangles face is kept. A conflict is an edge that cannot be served
    (a one-sided surface).
    """
    seams = mesh.edges(body.triangles)
    pairs, rows = _neighbours(seams)
    root, flip, conflicts = _join(len(body.triangles), pairs, seams.net[rows] != 0)
    share = np.bincount(root, weights=flip, minlength=len(root))
    whole = np.bincount(root, minlength=len(root))
    turn = np.where((2 * share > whole)[root], ~flip, flip)
    triangles = np.where(turn[:, None], body.triangles[:, ::-1], body.triangles)
    return mesh.shape(body.vertices, triangles), int(turn.sum()), int(conflicts)


def find(body: Shape) -> Shells:
    """Shells of a consistently wound mesh, with nesting."""
    if not len(body.triangles):
        nothing = np.zeros(0, dtype=np.int64)
        return Shells(nothing, np.zeros(0), nothing, nothing)
    seams = mesh.edges(body.triangles)
    pairs, rows = _neighbours(seams)
    root, _, _ = _join(len(body.triangles), pairs, seams.net[rows] != 0)
    _, label = np.unique(root, return_inverse=True)
    label = _with_open_ones_together(body.triangles, label)
    middle = mesh.corners(body).mean(axis=1) - body.vertices.mean(axis=0)
    volume = np.bincount(label, weights=np.einsum("ij,ij->i", middle, mesh.area_vectors(body)) / 3)
    starts = np.cumsum(np.bincount(label))[:-1]
    parts = np.split(mesh.corners(body)[np.argsort(label, kind="stable")], starts)
    depth, parent = _nest(parts)
    return Shells(label, volume, depth, parent)


def _neighbours(seams: mesh.MeshEdges) -> tuple[ndarray, ndarray]:
    """Pairs of triangles that share an edge nobody else shares, and those edges."""
    order = np.argsort(seams.of_side.ravel(), kind="stable")
    starts = np.cumsum(seams.sides) - seams.sides
    rows = np.flatnonzero(seams.sides == 2)
    return np.stack([order[starts[rows]], order[starts[rows] + 1]], axis=1) // 3, rows


@checked
def _join(count: int, pairs: ndarray, unlike: ndarray) -> tuple[ndarray, ndarray, int]:
    """Root of each triangle, whether it must turn to face as its root does, and edges in conflict."""
    parent = np.arange(count)
    odd = np.zeros(count, dtype=np.bool_)
    conflicts = 0
    for index in range(len(pairs)):
        a, odd_a = _root(parent, odd, pairs[index, 0])
        b, odd_b = _root(parent, odd, pairs[index, 1])
        differ = odd_a ^ odd_b ^ unlike[index]
        if a == b:
            conflicts += differ
        else:
            a, b = min(a, b), max(a, b)
            parent[b], odd[b] = a, differ
    for triangle in range(count):
        _root(parent, odd, triangle)
    return parent, odd, conflicts


@checked
def _root(parent: ndarray, odd: ndarray, start: int) -> tuple[int, bool]:
    """Root of a triangle and its parity; the path is shortened on the way."""
    root, parity = start, False
    while parent[root] != root:
        parity ^= odd[root]
        root = parent[root]
    node, rest = start, parity
    while parent[node] != node:
        ahead, step = parent[node], odd[node]
        parent[node], odd[node] = root, rest
        node, rest = ahead, rest ^ step
    return root, parity


def _with_open_ones_together(triangles: ndarray, label: ndarray) -> ndarray:
    """Labels from 0 by first triangle, where all pieces that are not closed by themselves share one."""
    split = triangles.astype(np.int64) + label[:, None] * (int(triangles.max(initial=0)) + 1)
    seams = mesh.edges(split)
    ragged = np.isin(label, label[(seams.net[seams.of_side] != 0).any(axis=1)])
    label = np.where(ragged, -1, label)
    _, first, name = np.unique(label, return_index=True, return_inverse=True)
    rank = np.empty(len(first), dtype=np.int64)
    rank[np.argsort(first)] = np.arange(len(first))
    return np.asarray(rank[name])


def _nest(parts: list[ndarray]) -> tuple[ndarray, ndarray]:
    """How many shells lie around each shell (corners of its triangles), and the innermost of them."""
    around: list[list[int]] = [[] for _ in parts]
    low = np.array([points.min(axis=(0, 1)) for points in parts]).reshape(-1, 3)
    high = np.array([points.max(axis=(0, 1)) for points in parts]).reshape(-1, 3)
    for inner in range(len(parts)):
        inside = (low <= low[inner]).all(axis=1) & (high >= high[inner]).all(axis=1)
        for outer in np.flatnonzero(inside):
            if outer != inner and _lies_in(parts[inner].reshape(-1, 3), parts[outer]):
                around[inner].append(int(outer))
    depth = np.array([len(each) for each in around], dtype=np.int64)
    parent = [max(each, key=lambda outer: int(depth[outer]), default=-1) for each in around]
    return depth, np.array(parent, dtype=np.int64)


def _lies_in(points: ndarray, triangles: ndarray) -> bool:
    """True if the outermost and some other vertices all lie inside the surface."""
    spread = np.linspace(0, len(points) - 1, PROBES).astype(int)
    probes = points[np.concatenate([spread, points.argmin(axis=0), points.argmax(axis=0)])]
    return bool((np.abs(windings(triangles, probes)) > 0.75).all())


@checked
def windings(corners: ndarray, points: ndarray) -> ndarray:
    """How often a surface winds round each point: 1 inside, 0 outside, -1 inside an inside-out shell.

    Parameters
    ----------
    corners : float64 (m, 3, 3)
    points : float64 (n, 3)

    Source
    ------
    Solid angle of a triangle: van Oosterom & Strackee 1983, IEEE Trans. Biomed. Eng. 30(2), 125 (memory).
    """
    turns = np.zeros(len(points))
    for index in range(len(points)):
        px, py, pz = points[index]
        total = 0.0
        for t in range(len(corners)):
            ax, ay, az = corners[t, 0, 0] - px, corners[t, 0, 1] - py, corners[t, 0, 2] - pz
            bx, by, bz = corners[t, 1, 0] - px, corners[t, 1, 1] - py, corners[t, 1, 2] - pz
            cx, cy, cz = corners[t, 2, 0] - px, corners[t, 2, 1] - py, corners[t, 2, 2] - pz
            a = np.sqrt(ax * ax + ay * ay + az * az)
            b = np.sqrt(bx * bx + by * by + bz * bz)
            c = np.sqrt(cx * cx + cy * cy + cz * cz)
            det = ax * (by * cz - bz * cy) - ay * (bx * cz - bz * cx) + az * (bx * cy - by * cx)
            ab, bc, ca = ax * bx + ay * by + az * bz, bx * cx + by * cy + bz * cz, cx * ax + cy * ay + cz * az
            total += 2 * np.arctan2(det, a * b * c + ab * c + bc * a + ca * b)
        turns[index] = total / (4 * np.pi)
    return turns
