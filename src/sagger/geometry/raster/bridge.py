"""Sections of broken meshes, closed by joining open ends to the nearest others."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray
from scipy.spatial import cKDTree

from sagger.compiled import kernel
from sagger.geometry.raster.scene import Scene
from sagger.geometry.raster.trace import crossed, listed_span

NEAREST = 8  # candidates looked at for each open end before the rest are paired as they come


class Bridged(NamedTuple):
    segments: ndarray  # float64 (m, 4) [mm]: the section with its bridges
    bridges: int
    longest_mm: float
    share: float  # of all segment ends that were open [-]


def bridged(scene: Scene, group: int, plane: int, segments: ndarray) -> Bridged:
    """Section of one group, as `trace.cut` gave it, with each open end joined to the nearest open start.

    Every segment has one start and one end, so there are as many of the one as of the other and the section
    always closes: no row can leak.
    """
    n = len(segments)
    starts, ends = np.empty(n, np.int64), np.empty(n, np.int64)
    _keys(scene, group, plane, starts, ends)
    keys, where, place = np.unique(np.concatenate([ends, starts]), return_index=True, return_inverse=True)
    balance = np.bincount(place[:n], minlength=keys.size) - np.bincount(place[n:], minlength=keys.size)
    if not balance.any():
        return Bridged(segments, 0, 0.0, 0.0)
    points = np.concatenate([segments[:, 2:], segments[:, :2]])[where]
    loose = np.repeat(points, np.maximum(balance, 0), axis=0)
    wanted = np.repeat(points, np.maximum(-balance, 0), axis=0)
    bridges = _paired(loose, wanted)
    lengths = np.hypot(bridges[:, 2] - bridges[:, 0], bridges[:, 3] - bridges[:, 1])
    joined = np.concatenate([segments, bridges])
    return Bridged(joined, int(np.count_nonzero(lengths)), float(lengths.max()), len(loose) / max(n, 1))


def _paired(loose: ndarray, wanted: ndarray) -> ndarray:
    """Segments from each loose end to an open start, shortest first, each used once."""
    near = min(NEAREST, len(wanted))
    distance, start = cKDTree(wanted).query(loose, k=near)
    distance, start = distance.reshape(len(loose), near), start.reshape(len(loose), near)
    mate = np.full(len(loose), -1)
    free = np.ones(len(wanted), bool)
    for flat in np.argsort(distance, axis=None, kind="stable"):
        end, other = flat // near, start.flat[flat]
        if mate[end] < 0 and free[other]:
            mate[end], free[other] = other, False
    mate[mate < 0] = np.flatnonzero(free)
    return np.hstack([loose, wanted[mate]])


@kernel
def _keys(scene, group, plane, starts, ends):  # type: ignore[no-untyped-def]
    """Mesh edge on which each segment of `trace.cut` starts and ends, in the same order."""
    points, triangles, listed = scene.points, scene.triangles, scene.listed
    first, last = listed_span(scene, group, plane)
    local = float(plane - scene.group_z[group])
    n = 0
    for q in range(first, last):
        cuts_it, a, b, c, d = crossed(points, triangles, listed[q], local)
        if cuts_it:
            starts[n] = (np.int64(a) << 32) | np.int64(b)
            ends[n] = (np.int64(c) << 32) | np.int64(d)
            n += 1
