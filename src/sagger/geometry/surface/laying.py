"""Laying a scanned surface on the shape it should have, whatever way round it was scanned [mm]."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray
from scipy.spatial import cKDTree
from scipy.spatial.transform import Rotation

from sagger.geometry.surface.mesh import area_vectors, corners
from sagger.goods.shape import Shape

FEW, SOME, MANY = 300, 1500, 60_000  # points: to try a turn, to follow one, on the shape itself
TURNS, FOLLOWED = 400, 12  # turns tried blind, and the best of them followed
STEPS, LAST = 12, 30  # rounds of following, and of the last fit
KEPT = 0.9  # share of the surface by which turns are judged; the rest may be dirt or holes
CUT = 5.0  # robust standard deviations of what is left, beyond which a point is dirt
PATCHES = 24  # of the surface, left out one at a time
SAME = 1.1  # fits within this factor are equally good


class Ground(NamedTuple):
    """The shape as points with outward normals."""

    points: ndarray  # float64 (n, 3)
    normals: ndarray  # float64 (n, 3)
    nearest: cKDTree


class LaidScan(NamedTuple):
    """laid = turn @ scan + shift; laid surface = scale x shape."""

    turn: ndarray  # float64 (3, 3)
    shift: ndarray  # float64 (3,)
    scale: ndarray  # float64 (3,)
    left: float  # root mean square of what is left, over the part of the surface that decides

    def put(self, points: ndarray) -> ndarray:
        """Points of the scan on the shape."""
        return np.asarray(points @ self.turn.T + self.shift)


def sampled(body: Shape, count: int, seed: int) -> tuple[ndarray, ndarray]:
    """Points spread evenly over a surface (n, 3), and the outward normal at each."""
    rng = np.random.default_rng(seed)
    vectors = area_vectors(body)
    areas = np.linalg.norm(vectors, axis=1)
    picked = rng.choice(len(areas), count, p=areas / areas.sum())
    u, v = rng.random((2, count, 1))
    over = u + v > 1
    u, v = np.where(over, 1 - u, u), np.where(over, 1 - v, v)
    a, b, c = np.moveaxis(corners(body)[picked], 1, 0)
    return a + u * (b - a) + v * (c - a), vectors[picked] / areas[picked, None]


def ground(body: Shape, seed: int = 1) -> Ground:
    """A shape, ready to have scans laid on it."""
    points, normals = sampled(body, MANY, seed)
    return Ground(points, normals, cKDTree(points))


def started(scan: ndarray, on: Ground, *, as_filed: bool = False, seed: int = 1) -> tuple[LaidScan, bool]:
    """A scan roughly laid, and whether its axes are sure.

    Parameters
    ----------
    scan : (n, 3) float
        Points spread evenly over the scanned surface.
    as_filed : bool
        The scan is turned as the shape is, but for a few degrees.

    Returns
    -------
    Laid, bool
        The better fit, and False if another turn that swaps axes fits as well: a cube, a ring.

    Source
    ------
    Turns spread over all rotations and the principal axes are tried by the distance of a few points to the
    shape (the nearer 90 % of them); the best are followed by point-to-plane steps (Chen and Medioni 1992).
    """
    rng = np.random.default_rng(seed)
    few = scan[rng.permutation(len(scan))[:FEW]]
    some = scan[rng.permutation(len(scan))[:SOME]]
    turns = np.eye(3)[None] if as_filed else _turns(scan, on, rng)
    middle, target = scan.mean(axis=0), on.points.mean(axis=0)
    moved = np.einsum("tij,nj->tni", turns, few - middle) + target
    off = np.sort(on.nearest.query(moved.reshape(-1, 3))[0].reshape(len(turns), -1), axis=1)
    best = np.argsort(off[:, : int(KEPT * len(few))].mean(axis=1))[:FOLLOWED]
    starts = [LaidScan(turns[at], target - turns[at] @ middle, np.ones(3), np.inf) for at in best]
    found = sorted((followed(some, on, start, STEPS) for start in starts), key=lambda laid: laid.left)
    first = found[0]
    rivals = [laid for laid in found[1:] if laid.left < SAME * first.left]
    return first, not any(_swaps(first.turn @ laid.turn.T) for laid in rivals)


def followed(
    scan: ndarray, on: Ground, start: LaidScan, steps: int = LAST, *, scaled: bool = False
) -> LaidScan:
    """A scan laid better, step by step; with `scaled` the size along each axis is found too."""
    laid = start
    for step_number in range(steps):
        rows, off = _equations(scan, on, laid, scaled)
        use = _belongs(off) if 2 * step_number >= steps else np.full(len(off), True)
        step = np.linalg.lstsq(rows[use], -off[use], rcond=None)[0]
        laid = _moved(laid, step, float(np.sqrt(np.mean(off[use] ** 2))))
    return laid


def spread(scan: ndarray, on: Ground, laid: LaidScan, *, scaled: bool, seed: int = 1) -> ndarray:
    """Covariance of the fit's numbers: turn (3) [rad], shift (3) [mm], and if `scaled` scale (3).

    Source
    ------
    Jackknife by patches of the surface, and least squares with the patches' design effect (Kish 1965): points
    beside each other err together. The larger of the two: few patches may hold all that is known of a size.
    """
    rows, off = _equations(scan, on, laid, scaled)
    use = _belongs(off)
    centres = scan[np.random.default_rng(seed).permutation(len(scan))[:PATCHES]]
    patch = cKDTree(centres).query(scan)[1]
    without = [
        np.linalg.lstsq(rows[use & (patch != one)], -off[use & (patch != one)], rcond=None)[0]
        for one in range(PATCHES)
    ]
    jackknife = np.cov(np.array(without).T) * (PATCHES - 1) ** 2 / PATCHES
    plain = np.linalg.pinv(rows[use].T @ rows[use]) * _together(off[use], patch[use])
    wider = np.sqrt(np.maximum(np.diag(plain) / np.maximum(np.diag(jackknife), 1e-300), 1.0))
    return np.asarray(jackknife * np.outer(wider, wider))


def _together(off: ndarray, patch: ndarray) -> float:
    """Variance of what is left, times what the likeness of neighbours costs."""
    counts = np.bincount(patch, minlength=PATCHES)
    there = counts > 0
    means = np.bincount(patch, off, PATCHES)[there] / counts[there]
    within = float(((off - means[np.cumsum(there)[patch] - 1]) ** 2).sum())
    within /= max(1, len(off) - there.sum())
    size = len(off) / there.sum()
    between = max(0.0, float(np.var(means, ddof=1)) - within / size)
    return float(within + between * size)


def apart(scan: ndarray, on: Ground, laid: LaidScan) -> ndarray:
    """Distance of each point from the surface as laid, along its normal; above 0 outside."""
    return _equations(scan, on, laid, scaled=False)[1]


def _belongs(off: ndarray) -> ndarray:
    """Which points are of the piece; asked once all had their say, or a whole face could be left out."""
    return np.asarray(np.abs(off) <= CUT * 1.4826 * np.median(np.abs(off)) + 1e-9)


def _equations(scan: ndarray, on: Ground, laid: LaidScan, scaled: bool) -> tuple[ndarray, ndarray]:
    """How the distance along the normal changes with each number of the fit, and that distance."""
    put = laid.put(scan)
    near = on.nearest.query(put / laid.scale)[1]
    normals, feet = on.normals[near], on.points[near] * laid.scale
    off = ((put - feet) * normals).sum(axis=1)
    rows = [np.cross(put - laid.shift, normals), normals]
    if scaled:
        rows.append(-normals * on.points[near])
    return np.concatenate(rows, axis=1), off


def _moved(laid: LaidScan, step: ndarray, left: float) -> LaidScan:
    turn = Rotation.from_rotvec(step[:3]).as_matrix()
    scale = laid.scale + step[6:9] if step.size > 6 else laid.scale
    return LaidScan(turn @ laid.turn, laid.shift + step[3:6], scale, left)


def _turns(scan: ndarray, on: Ground, rng: np.random.Generator) -> ndarray:
    """Turns spread over all, and those that bring principal axes together."""
    own, asked = (np.linalg.eigh(np.cov(points.T))[1] for points in (scan, on.points))
    aligned = []
    for cube in Rotation.create_group("O").as_matrix():
        turn = asked @ cube @ own.T
        aligned.append(turn if np.linalg.det(turn) > 0 else asked @ np.diag([1, 1, -1]) @ cube @ own.T)
    return np.concatenate([Rotation.random(TURNS, rng).as_matrix(), np.array(aligned)])


def _swaps(turn: ndarray) -> bool:
    """Whether a turn carries an axis away from itself, its sense aside."""
    return bool((np.abs(np.diag(turn)) < 0.9).any())
