"""The surface of a body, as samples that know which others lie opposite across a gap."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from sagger.compiled import fast_inner, fast_parallel, prange
from sagger.physics.solid.brick import SIGNS
from sagger.physics.solid.points import Points

Array = np.ndarray
_Sides = tuple[Array, Array]  # places and outward normals of samples
_Bins = tuple[Array, Array, Array, float]  # starts, their number along x, y, z, lower corner, size
FACING = -0.3  # product of two outward normals below which surfaces lie opposite
ASIDE = 0.75  # spacings: two samples further apart along the surface do not lie opposite
MOST_BINS = 4e6  # in which samples are looked up
PARTS = 64  # in which samples are dealt to threads


class Skin(NamedTuple):
    """Samples of the whole surface."""

    points: Points
    area: Array  # float64 (s,) green [m2]
    outward: Array  # float64 (s, 3): unit vectors out of the material, as the body lies in the grid
    spacing: float  # [m]


class SamplePlaces(NamedTuple):
    """Where samples lie."""

    spot: Array  # float64 (s, 3) [m]
    outward: Array  # float64 (s, 3): unit vectors


def chosen(skin: Skin, which: Array) -> Skin:
    """Some of the samples."""
    return Skin(
        Points(*(each[which] for each in skin.points)), skin.area[which], skin.outward[which], skin.spacing
    )


def lie(skin: Skin, nodes: Array, place: Array) -> SamplePlaces:
    """Where samples lie, and which way they face, when the nodes are at `place` (n, 3) [m]."""
    spot, outward = np.empty_like(skin.outward), np.empty_like(skin.outward)
    _lie(tuple(skin.points), skin.outward, nodes, place, (spot, outward))
    return SamplePlaces(spot, outward)


@fast_parallel
def _lie(points: tuple[Array, ...], normals: Array, nodes: Array, place: Array, out: _Sides) -> None:
    for part in prange(PARTS):
        local, slope = np.empty(3), np.empty((3, 3))
        for p in range(len(normals) * part // PARTS, len(normals) * (part + 1) // PARTS):
            corners, weights = nodes[points[0][p]], points[1][p]
            local[:], slope[:] = 0.0, 0.0
            out[0][p] = 0.0
            for a in range(8):
                for i in range(3):
                    local[i] += weights[a] * SIGNS[a, i]
                    out[0][p, i] += weights[a] * place[corners[a], i]
            for a in range(8):
                x, y, z = SIGNS[a]
                u, v, w = (1 + x * local[0]) / 2, (1 + y * local[1]) / 2, (1 + z * local[2]) / 2
                for i in range(3):
                    slope[i, 0] += x * v * w * place[corners[a], i]
                    slope[i, 1] += y * u * w * place[corners[a], i]
                    slope[i, 2] += z * u * v * place[corners[a], i]
            _turned(slope, normals[p], out[1][p])


@fast_inner
def _turned(slope: Array, normal: Array, out: Array) -> None:
    """A normal as the material turned it: the cofactors of the slope times it, of length one."""
    size = 0.0
    for i in range(3):
        j, k = (i + 1) % 3, (i + 2) % 3
        out[i] = 0.0
        for c in range(3):
            d, e = (c + 1) % 3, (c + 2) % 3
            out[i] += (slope[j, d] * slope[k, e] - slope[j, e] * slope[k, d]) * normal[c]
        size += out[i] * out[i]
    for i in range(3):
        out[i] /= np.sqrt(size)


def slopes(points: Points, nodes: Array, place: Array) -> Array:
    """By how much the place x_i changes along each way j of a brick, -1 to 1: float64 (p, 3, 3)."""
    local = points.weights @ SIGNS
    along = (1 + SIGNS * local[:, None, :]) / 2
    step = np.empty((len(local), 8, 3))
    for j in range(3):
        step[:, :, j] = SIGNS[:, j] / 2 * along[:, :, j - 2] * along[:, :, j - 1]
    return np.asarray(np.einsum("pai,paj->pij", place[nodes[points.brick]], step))


def opposite(before: SamplePlaces, now: SamplePlaces, reach: float, spacing: float) -> Array:
    """Pairs of samples that face each other across a gap below `reach` and did before, int64 (k, 2).

    The second of a pair looks along its normal for the first, the nearest that looks back. Two sides of one
    wall never faced each other.
    """
    low, extent = now.spot.min(axis=0), np.ptp(now.spot, axis=0)
    size = max(2 * ASIDE * spacing, float(np.prod(extent + spacing) / MOST_BINS) ** (1 / 3))
    bins = np.floor((now.spot - low) / size).astype(np.int64) + 1
    count = bins.max(axis=0) + 2
    key = (bins[:, 0] * count[1] + bins[:, 1]) * count[2] + bins[:, 2]
    order = np.argsort(key, kind="stable")
    starts = np.concatenate([[0], np.cumsum(np.bincount(key, minlength=int(np.prod(count))))])
    sorted_ = [np.ascontiguousarray(each[order]) for each in (*before, *now)]
    other = np.full(len(key), -1, np.int64)
    _opposite(
        (starts, count, low, size),
        (sorted_[0], sorted_[1]),
        (sorted_[2], sorted_[3]),
        (reach, spacing),
        other,
    )
    found = np.flatnonzero(other >= 0)
    return np.column_stack([order[other[found]], order[found]])


@fast_parallel
def _opposite(bins: _Bins, before: _Sides, now: _Sides, limits: tuple[float, float], other: Array) -> None:
    for part in prange(PARTS):
        for j in range(other.size * part // PARTS, other.size * (part + 1) // PARTS):
            ahead = -limits[1]
            while ahead < limits[0] + bins[3] and other[j] < 0:
                other[j] = _seen(j, ahead, bins, before, now, limits)
                ahead += bins[3]


@fast_inner
def _seen(j: int, ahead: float, bins: _Bins, before: _Sides, now: _Sides, limits: tuple[float, float]) -> int:
    """The nearest sample that looks back at j, around the place so far ahead of it; -1 for none."""
    starts, count, low, size = bins
    spot, outward = now
    x = int(np.floor((spot[j, 0] + ahead * outward[j, 0] - low[0]) / size)) + 1
    y = int(np.floor((spot[j, 1] + ahead * outward[j, 1] - low[1]) / size)) + 1
    z = int(np.floor((spot[j, 2] + ahead * outward[j, 2] - low[2]) / size)) + 1
    best, opposite = 1e300, -1
    if z < 0 or z > count[2] - 1:
        return opposite
    for u in range(max(x - 1, 0), min(x + 2, count[0])):
        for v in range(max(y - 1, 0), min(y + 2, count[1])):
            row = (u * count[1] + v) * count[2]
            for i in range(starts[row + max(z - 1, 0)], starts[row + min(z + 2, count[2])]):
                far = _distance(i, j, now, limits)
                if far < best and _above(i, j, before)[0] > 0:
                    best, opposite = far, i
    return opposite


@fast_inner
def _above(i: int, j: int, lie: _Sides) -> tuple[float, float]:
    """How far i lies above the plane of j, and the square of its whole distance."""
    above, square = 0.0, 0.0
    for c in range(3):
        d = lie[0][i, c] - lie[0][j, c]
        above += d * lie[1][j, c]
        square += d * d
    return above, square


@fast_inner
def _distance(i: int, j: int, now: _Sides, limits: tuple[float, float]) -> float:
    """Square of the distance of two samples that lie opposite, else a huge number."""
    n = now[1]
    if n[i, 0] * n[j, 0] + n[i, 1] * n[j, 1] + n[i, 2] * n[j, 2] >= FACING:
        return 1e300
    above, square = _above(i, j, now)
    if above >= limits[0] or above <= -limits[1] or square - above * above > (ASIDE * limits[1]) ** 2:
        return 1e300
    return float(square)
