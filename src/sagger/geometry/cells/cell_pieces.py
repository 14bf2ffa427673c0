"""Pieces of material in cells that a surface cuts: their small cubes, volume, centre and covariance."""

from __future__ import annotations

from math import ceil, floor
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.compiled import kernel

SAMPLES = 6  # columns of samples along one edge of a cell
OPEN = 255  # material that has no label yet


class Crossings(NamedTuple):
    """Heights at which the surface crosses each column, rising, in cells above the grid's floor."""

    starts: np.ndarray  # int64 (columns + 1,)
    heights: np.ndarray  # float64 (crossings,)


class Moments(NamedTuple):
    """Sums over the pieces of material in cut cells; of a cell they follow each other."""

    first: np.ndarray  # int64 (b,): piece with label 1 of each cut cell
    share: np.ndarray
    mean: np.ndarray
    spread: np.ndarray


@kernel
def sums(crossings: Crossings, ny: int, cut: ndarray, labels: ndarray, out: Moments) -> None:
    """Volume, first and second moments of each piece, exact along z."""
    s = SAMPLES
    for n in range(cut.shape[0]):
        for a in range(s):
            for e in range(s):
                k = (cut[n, 0] * s + a) * ny * s + cut[n, 1] * s + e
                x, y = 2 * (a + (e + 0.5) / s) / s - 1, 2 * (e + (a + 0.5) / s) / s - 1
                for p in range(crossings.starts[k], crossings.starts[k + 1] - 1, 2):
                    low = max(-1.0, 2 * (crossings.heights[p] - cut[n, 2]) - 1)
                    high = min(1.0, 2 * (crossings.heights[p + 1] - cut[n, 2]) - 1)
                    if high > low:
                        label = _nearest(labels[n], a, e, int((low + high + 2) * s / 4))
                        _sum(out, out.first[n] + label - 1, high - low, (x, y, 0.5 * (low + high)))


@kernel
def _nearest(labels: ndarray, a: int, e: int, m: int) -> int:
    """Label of the small cube (a, e, m), or of the nearest one that has any."""
    best, nearest = 1_000_000, 1
    for i in range(SAMPLES):
        for j in range(SAMPLES):
            for k in range(SAMPLES):
                away = (i - a) ** 2 + (j - e) ** 2 + (k - m) ** 2
                if labels[i, j, k] > 0 and away < best:
                    best, nearest = away, labels[i, j, k]
    return nearest


@kernel
def _sum(out: Moments, piece: int, length: float, point: tuple[float, float, float]) -> None:
    out.share[piece] += length
    for r in range(3):
        out.mean[piece, r] += length * point[r]
        for c in range(3):
            out.spread[piece, r, c] += length * point[r] * point[c]
    out.spread[piece, 2, 2] += length**3 / 12


def central(sums: Moments) -> None:
    """Turn sums into shares, centres and covariances; each sample is a square, not a point."""
    total = np.maximum(sums.share, 1e-300)
    sums.mean[:] /= total[:, None]
    sums.spread[:] /= total[:, None, None]
    sums.spread[:] -= sums.mean[:, :, None] * sums.mean[:, None, :]
    sums.spread[:, range(2), range(2)] += 1 / (3 * SAMPLES**4)
    sums.share[:] /= 2 * SAMPLES**2


@kernel
def inside(crossings: Crossings, ny: int, cut: ndarray, labels: ndarray) -> None:
    """Small cubes of each cut cell that a straight column passes inside; all of them if none does."""
    s = SAMPLES
    for n in range(cut.shape[0]):
        some = False
        for a in range(s):
            for e in range(s):
                k = (cut[n, 0] * s + a) * ny * s + cut[n, 1] * s + e
                for p in range(crossings.starts[k], crossings.starts[k + 1] - 1, 2):
                    low = max(0.0, (crossings.heights[p] - cut[n, 2]) * s)
                    high = min(s + 0.0, (crossings.heights[p + 1] - cut[n, 2]) * s)
                    if high - low <= 1e-9 * s:
                        continue
                    for m in range(floor(low + 1e-9), max(ceil(high - 1e-9), floor(low + 1e-9) + 1)):
                        if m < s:
                            labels[n, a, e, m] = OPEN
                            some = True
        if not some:
            labels[n] = OPEN


@kernel
def label(labels: ndarray, counts: ndarray) -> None:
    """Number the pieces of each cut cell, marked OPEN, that touch face to face."""
    s = labels.shape[1]
    stack = np.empty((s * s * s, 3), np.int64)
    for b in range(labels.shape[0]):
        for first in range(s * s * s):
            i, j, k = first // (s * s), first // s % s, first % s
            if labels[b, i, j, k] != OPEN:
                continue
            counts[b] += 1
            labels[b, i, j, k] = counts[b]
            stack[0] = (i, j, k)
            _spread(labels[b], counts[b], stack)


@kernel
def _spread(labels: ndarray, label: int, stack: ndarray) -> None:
    s, left = SAMPLES, 1
    while left > 0:
        left -= 1
        here = (stack[left, 0], stack[left, 1], stack[left, 2])
        for way in range(6):
            step = 1 - 2 * (way % 2)
            i = here[0] + (step if way // 2 == 0 else 0)
            j = here[1] + (step if way // 2 == 1 else 0)
            k = here[2] + (step if way // 2 == 2 else 0)
            if min(i, j, k) < 0 or max(i, j, k) >= s:
                continue
            if labels[i, j, k] == OPEN:
                labels[i, j, k] = label
                stack[left] = (i, j, k)
                left += 1
