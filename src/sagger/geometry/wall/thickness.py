"""How thick walls are, how wide gaps, and which is the largest ball that fits inside [mm].

Rays from points spread over the surface, straight in or straight out, to the surface across.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.compiled import checked
from sagger.geometry.surface import mesh
from sagger.geometry.tree.bvh import TriangleTree, first_hits, nearest, tree
from sagger.goods.shape import Shape

POINTS = 30_000  # spread over the surface by area; long thin triangles add more
MOST_TRIANGLES = 150_000  # with a point of their own; of finer meshes only every k-th has one
SEEDS = 12  # places from which the largest ball is searched
MIDDLES = 4_000  # midpoints of rays that are tried as seeds
TOUCHING_MM = 1e-3  # faces nearer than this touch: bodies drawn face to face, and the file's rounding
SLIPS_MOST = 1e-3  # of the surface that passes through itself: more is a fault of the part, not of its mesh
NONE = np.zeros(0, np.int64)


class Across(NamedTuple):
    """What lies straight across from points of the surface; only points where something does."""

    points: ndarray  # float64 (n, 3) [mm]
    normals: ndarray  # float64 (n, 3) outward
    areas: ndarray  # float64 (n,): share of the surface each point stands for [mm2]
    distance: ndarray  # float64 (n,) [mm]
    facing: ndarray  # float64 (n,): 1 where the surface across is parallel, 0 where it is at right angles


def walls(body: Shape, boxes: TriangleTree, crossed: ndarray = NONE) -> Across:
    """Material straight below points of the surface.

    Parameters
    ----------
    crossed : array of int
        Triangles that run through others. From them on, as far as the surface touches what lies across, it
        passes from one side of itself to the other: that is no wall, however thin, unless it is large.
    """
    return _across(body, boxes, -1.0, crossed)


def gaps(body: Shape, boxes: TriangleTree) -> Across:
    """Free space straight above points of the surface."""
    return _across(body, boxes, 1.0, NONE)


def _across(body: Shape, boxes: TriangleTree, way: float, crossed: ndarray) -> Across:
    """Rays along the outward normal times `way`; hits from the wrong side (crossing surfaces) are dropped."""
    points, own, areas = _spread(body)
    vectors = mesh.area_vectors(body)
    unit = vectors / np.maximum(np.linalg.norm(vectors, axis=1), 1e-300)[:, None]
    normals = unit[own]
    distance, hit = first_hits(boxes, points, way * normals, own)
    facing = -np.einsum("ij,ij->i", normals, unit[hit])
    fine = (hit >= 0) & (facing > 0)
    slips = np.flatnonzero(fine & (distance < TOUCHING_MM))
    slips = slips[_joined(body.triangles[own[slips]], body.triangles[hit[slips]], body.triangles[crossed])]
    if areas[slips].sum() <= SLIPS_MOST * areas.sum():
        fine[slips] = False
    return Across(points[fine], normals[fine], areas[fine], distance[fine], facing[fine])


def _joined(own: ndarray, across: ndarray, seeds: ndarray) -> ndarray:
    """Which pairs of triangles, each int (n, 3) of corners, hang together by corners with the seeds."""
    pairs = np.hstack([own, across])
    joined, before, corners = np.zeros(len(pairs), bool), -1, np.unique(seeds)
    while joined.sum() > before:
        before = int(joined.sum())
        joined = np.asarray(np.isin(pairs, corners).any(axis=1))
        corners = np.union1d(corners, pairs[joined])
    return joined


def _spread(body: Shape) -> tuple[ndarray, ndarray, ndarray]:
    """Points over the surface in rows along each triangle's longest side, their triangles and areas."""
    sizes = np.linalg.norm(mesh.area_vectors(body), axis=1)
    stride = -(-len(sizes) // MOST_TRIANGLES)
    chosen = np.flatnonzero(sizes > 0)[::stride]
    base, tip, length = _longest_sides(mesh.corners(body)[chosen])
    step = float(np.sqrt(sizes.sum() / POINTS))
    rows = np.maximum(1, np.ceil(2 * sizes[chosen] / length / step)).astype(np.int64)
    row_of, row = _repeated(rows)
    up = 1 - np.sqrt(1 - (row + 0.5) / rows[row_of])  # rows of equal area
    columns = np.maximum(1, np.ceil(length[row_of] * (1 - up) / step)).astype(np.int64)
    column_of, column = _repeated(columns)
    which, up = row_of[column_of], up[column_of][:, None]
    along = ((column + 0.5) / columns[column_of])[:, None]
    points = (base[which, 0] * (1 - along) + base[which, 1] * along) * (1 - up) + tip[which] * up
    areas = stride * sizes[chosen][which] / (rows[row_of] * columns)[column_of]
    return np.ascontiguousarray(points), chosen[which], areas


def _longest_sides(corners: ndarray) -> tuple[ndarray, ndarray, ndarray]:
    """Ends of each triangle's longest side (n, 2, 3), the corner across (n, 3), and the side's length."""
    lengths = np.linalg.norm(np.roll(corners, -1, axis=1) - corners, axis=2)
    start, rows = lengths.argmax(axis=1), np.arange(len(corners))
    ends = np.stack([corners[rows, start], corners[rows, (start + 1) % 3]], axis=1)
    return ends, corners[rows, (start + 2) % 3], lengths[rows, start]


def _repeated(counts: ndarray) -> tuple[ndarray, ndarray]:
    """Index of each thing, repeated as often as it counts, and a running number within each."""
    which = np.repeat(np.arange(len(counts)), counts)
    return which, np.arange(len(which)) - np.repeat(np.cumsum(counts) - counts, counts)


def thickest(across: Across, boxes: TriangleTree) -> tuple[float, ndarray]:
    """Diameter of the largest ball inside the surface, and its centre.

    Midpoints of rays are tried as centres; from the best, which lie apart, the distance to the surface is
    climbed. A ball that no ray passes near the middle of is missed, so this is a lower bound.
    """
    if not len(across.distance):
        return 0.0, np.zeros(3)
    order = np.argsort(-across.distance, kind="stable")[:MIDDLES]
    middles = across.points[order] - across.normals[order] * across.distance[order, None] / 2
    radii = nearest(boxes, middles)
    seeds: list[int] = []
    for index in np.argsort(-radii, kind="stable"):
        if all(np.linalg.norm(middles[index] - middles[seed]) > radii[index] / 2 for seed in seeds):
            seeds.append(int(index))
        if len(seeds) == SEEDS:
            break
    centres = middles[seeds].copy()
    climbed = _climb(boxes, centres, radii[seeds].copy())
    best = int(np.argmax(climbed))
    return 2 * float(climbed[best]), centres[best]


@checked
def _climb(boxes: TriangleTree, centres: ndarray, radii: ndarray) -> ndarray:
    """Move each centre to where the surface is farthest; steps stay inside the ball, so inside the body."""
    trial = np.empty((1, 3))
    for seed in range(len(centres)):
        step = radii[seed] / 2
        while step > 1e-4 * radii[seed]:
            better = False
            for direction in range(27):
                a, b, c = direction % 3 - 1, direction // 3 % 3 - 1, direction // 9 - 1
                size = np.sqrt(a * a + b * b + c * c)
                if size == 0:
                    continue
                trial[0, 0] = centres[seed, 0] + a * step / size
                trial[0, 1] = centres[seed, 1] + b * step / size
                trial[0, 2] = centres[seed, 2] + c * step / size
                radius = nearest(boxes, trial)[0]
                if radius > radii[seed] * (1 + 1e-9):
                    radii[seed], better = radius, True
                    centres[seed] = trial[0]
            if not better:
                step /= 2
    return radii


def measure(body: Shape, crossed: ndarray = NONE) -> tuple[Across, Across, float, ndarray]:
    """Walls, gaps, and diameter and centre of the largest ball inside; `crossed` as `walls` takes it."""
    boxes = tree(body)
    inward = walls(body, boxes, crossed)
    return inward, gaps(body, boxes), *thickest(inward, boxes)
