"""Bending a shape: triangles divided so that they can bend, samples of what faces down, and what crosses."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.compiled import checked
from sagger.errors import InputError
from sagger.geometry.surface import mesh
from sagger.goods.shape import Shape

MOST_TRIANGLES = 4_000_000
DOWN = 0.3  # z of an outward normal above which a surface does not face down


def divided(body: Shape, longest_mm: float) -> Shape:
    """The shape with every edge halved until none is longer; neighbours stay joined, old vertices stay first.

    Raises
    ------
    InputError
        If that would make more than four million triangles.
    """
    points, triangles = np.asarray(body.vertices), np.asarray(body.triangles)
    while True:
        sides = mesh.edges(triangles)
        length = np.linalg.norm(points[sides.ends[:, 0]] - points[sides.ends[:, 1]], axis=1)
        long = length > longest_mm
        if not long.any():
            return mesh.shape(points, triangles)
        if len(triangles) + 2 * long.sum() > MOST_TRIANGLES:
            raise InputError(
                "the surface is too large to be divided so finely", remedy="Take a coarser grid."
            )
        middle = np.full(len(long), -1)
        middle[long] = len(points) + np.arange(long.sum())
        points = np.concatenate([points, points[sides.ends[long]].mean(axis=1)])
        triangles = _split(triangles, middle[sides.of_side])


def _split(triangles: ndarray, middle: ndarray) -> ndarray:
    """Triangles (m, 3) with the middles (m, 3) of sides 01, 12, 20 put in; -1 where a side stays."""
    count = (middle >= 0).sum(axis=1)
    out = [triangles[count == 0]]
    for turn in range(3):
        a, b, c = np.roll(triangles, -turn, axis=1).T
        ab, bc, ca = np.roll(middle, -turn, axis=1).T
        one = (count == 1) & (ab >= 0)
        out += [np.column_stack(corners)[one] for corners in ((a, ab, c), (ab, b, c))]
        two = (count == 2) & (ca < 0)
        out += [np.column_stack(corners)[two] for corners in ((a, ab, c), (ab, b, bc), (ab, bc, c))]
    (a, b, c), (ab, bc, ca) = triangles.T, middle.T
    every = count == 3
    parts = ((a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca))
    out += [np.column_stack(corners)[every] for corners in parts]
    return np.concatenate(out)


class Samples(NamedTuple):
    points: ndarray  # float64 (p, 3) [mm]
    area: ndarray  # float64 (p,) [mm2]
    inward: ndarray  # float64 (p, 3): unit vectors into the material


def underside(body: Shape, near_mm: float, fine_mm: float, coarse_mm: float) -> Samples:
    """Samples of the surface that faces down: fine ones within `near_mm` of its lowest point."""
    corners = mesh.corners(body)
    normals = mesh.area_vectors(body)
    size = np.linalg.norm(normals, axis=1)
    low = corners[:, :, 2].min(axis=1) - corners[:, :, 2].min()
    down = (normals[:, 2] < DOWN * size) & (size > 0)
    return _sampled(body, ((down & (low < near_mm), fine_mm), (down & (low >= near_mm), coarse_mm)))


def samples(body: Shape, spacing_mm: float) -> Samples:
    """Samples of the whole surface."""
    real = np.linalg.norm(mesh.area_vectors(body), axis=1) > 0
    return _sampled(body, ((real, spacing_mm),))


def _sampled(body: Shape, wanted: tuple[tuple[ndarray, float], ...]) -> Samples:
    """Samples of the chosen triangles, each choice at a spacing of its own."""
    corners, normals = mesh.corners(body), mesh.area_vectors(body)
    size = np.linalg.norm(normals, axis=1)
    longest = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1)
    parts = []
    for chosen, spacing in wanted:
        pieces = np.maximum(1, np.ceil(longest / (1.5 * spacing))).astype(int)
        for n in np.unique(pieces[chosen]):
            which = np.flatnonzero(chosen & (pieces == n))
            weights = _middles(int(n))
            points = np.einsum("qc,tcx->tqx", weights, corners[which]).reshape(-1, 3)
            unit = -normals[which] / size[which, None]
            area = np.repeat(size[which] / len(weights), len(weights))
            parts.append(Samples(points, area, np.repeat(unit, len(weights), axis=0)))
    return Samples(*(np.concatenate(each) for each in zip(*parts, strict=True)))


def _middles(n: int) -> ndarray:
    """Middles of the n^2 equal parts of a triangle, as weights of its corners (n^2, 3)."""
    i, j = (each.ravel() for each in np.meshgrid(range(n), range(n), indexing="ij"))
    upright = i + j < n
    turned = i + j < n - 1
    u = np.concatenate([i[upright] + 1 / 3, i[turned] + 2 / 3]) / n
    v = np.concatenate([j[upright] + 1 / 3, j[turned] + 2 / 3]) / n
    return np.column_stack([1 - u - v, u, v])


def vertex_areas(body: Shape) -> ndarray:
    """A third of the area of the triangles around each vertex, float64 (n,) [mm2]."""
    size = np.linalg.norm(mesh.area_vectors(body), axis=1) / 3
    return np.bincount(body.triangles.ravel(), np.repeat(size, 3), minlength=len(body.vertices))


def inward(body: Shape) -> ndarray:
    """Unit vectors into the material at the vertices, float64 (n, 3)."""
    normals = np.zeros_like(np.asarray(body.vertices))
    for corner in range(3):
        np.add.at(normals, body.triangles[:, corner], -mesh.area_vectors(body))
    return np.asarray(normals / np.maximum(np.linalg.norm(normals, axis=1), 1e-300)[:, None])


def crossed(body: Shape, pitch_mm: float) -> float:
    """Share of upright lines, `pitch_mm` apart, along which the surface does not bound inside from outside.

    0 for a surface that does not cross itself, as far as these lines see.
    """
    starts, hits, _, _ = _lined(body, pitch_mm)
    used = int((np.diff(starts) > 0).sum())
    return _wrong(starts, hits) / used if used else 0.0


def _lined(body: Shape, pitch_mm: float) -> tuple[ndarray, ndarray, ndarray, int]:
    """Where upright lines meet the surface: first hit of each line, hits, low corner, lines along y."""
    corners = mesh.corners(body)
    low = corners.min(axis=(0, 1))
    nx, ny = (int(np.ceil(each / pitch_mm)) + 1 for each in np.ptp(corners, axis=(0, 1))[:2])
    counts = np.zeros(nx * ny, np.int64)
    _hits(corners, low, (pitch_mm, ny), counts, np.zeros(1, np.int64), np.zeros((0, 2)))
    starts = np.concatenate([[0], np.cumsum(counts)])
    hits = np.empty((starts[-1], 2))
    counts[:] = 0
    _hits(corners, low, (pitch_mm, ny), counts, starts, hits)
    return starts, hits, low, ny


class Overlap(NamedTuple):
    depth_mm: float  # 0: none
    at_mm: ndarray  # float64 (3,): its middle


def overlap(body: Shape, pitch_mm: float) -> Overlap:
    """The longest stretch of an upright line, `pitch_mm` apart, that lies inside the surface twice."""
    starts, hits, low, ny = _lined(body, pitch_mm)
    deepest, middle, line = _twice(starts, hits)
    x, y = (low[0] + (line // ny + 0.5) * pitch_mm, low[1] + (line % ny + 0.5) * pitch_mm)
    return Overlap(float(deepest), np.array([x, y, middle]))


@checked
def _twice(starts: ndarray, hits: ndarray) -> tuple[float, float, int]:
    """Length and middle of the longest stretch inside twice, and its line."""
    deepest, middle, line = 0.0, 0.0, 0
    for k in range(starts.size - 1):
        mine = hits[starts[k] : starts[k + 1]]
        depth, since = 0.0, 0.0
        for n in np.argsort(mine[:, 0] + 1e-9 * mine[:, 1], kind="mergesort"):
            before = depth
            depth -= mine[n, 1]
            if before < 2 and depth >= 2:
                since = mine[n, 0]
            elif before >= 2 and depth < 2 and mine[n, 0] - since > deepest:
                deepest, middle, line = mine[n, 0] - since, (mine[n, 0] + since) / 2, k
    return deepest, middle, line


@checked
def _hits(
    corners: ndarray, low: ndarray, lines: tuple[float, int], counts: ndarray, starts: ndarray, hits: ndarray
) -> None:
    """Heights at which lines meet triangles, with -1 where one goes in and 1 where it comes out.

    `lines` are their pitch and how many stand along y.
    """
    pitch, ny = lines
    for t in range(corners.shape[0]):
        a, b, c = corners[t, 0], corners[t, 1], corners[t, 2]
        det = (b[0] - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (b[1] - a[1])
        if det == 0.0:
            continue
        for i in range(
            int((min(a[0], b[0], c[0]) - low[0]) / pitch), int((max(a[0], b[0], c[0]) - low[0]) / pitch) + 1
        ):
            for j in range(
                int((min(a[1], b[1], c[1]) - low[1]) / pitch),
                int((max(a[1], b[1], c[1]) - low[1]) / pitch) + 1,
            ):
                x, y = low[0] + (i + 0.50000017) * pitch, low[1] + (j + 0.50000029) * pitch
                u = ((x - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (y - a[1])) / det
                v = ((b[0] - a[0]) * (y - a[1]) - (x - a[0]) * (b[1] - a[1])) / det
                if u < 0 or v < 0 or u + v >= 1:
                    continue
                k = i * ny + j
                if hits.shape[0] > 0:
                    hits[starts[k] + counts[k], 0] = a[2] + u * (b[2] - a[2]) + v * (c[2] - a[2])
                    hits[starts[k] + counts[k], 1] = 1.0 if det > 0 else -1.0
                counts[k] += 1


@checked
def _wrong(starts: ndarray, hits: ndarray) -> int:
    """Lines that are inside twice, or outside twice."""
    wrong = 0
    for k in range(starts.size - 1):
        mine = hits[starts[k] : starts[k + 1]]
        depth, bad = 0.0, False
        for n in np.argsort(mine[:, 0] + 1e-9 * mine[:, 1], kind="mergesort"):
            depth -= mine[n, 1]
            bad = bad or depth < 0 or depth > 1
        if bad or depth != 0:
            wrong += 1
    return wrong
