"""Meshes turned upright: welded where they must be, sorted by height, facing outward [mm, heights in nm]."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.compiled import kernel

NM = 1_000_000  # nanometres in a millimetre


class Mesh(NamedTuple):
    """One oriented mesh, sorted by height."""

    xy: ndarray  # float64 (n, 2) [mm]
    z: ndarray  # int64 (n,) [nm], ascending
    triangles: ndarray  # int32 (m, 3), lowest corner first
    open: bool  # some edge is not used once in each direction


def framed(vertices: ndarray, triangles: ndarray, frame: ndarray) -> Mesh:
    """Mesh as its frame (3, 3) turns and stretches it, facing outward, sorted by height."""
    turned = np.asarray(vertices, np.float64) @ frame.T
    triangles = np.array(triangles, np.int32)
    inside_out = _signed_volume(turned, triangles) < 0
    return oriented(turned, triangles[:, ::-1] if inside_out else triangles)


def oriented(vertices: ndarray, triangles: ndarray) -> Mesh:
    """Mesh sorted by height; welded by whole nanometres if its edges do not pair up as they are."""
    triangles = np.ascontiguousarray(triangles, np.int32)
    is_open = bool(_unpaired(triangles))
    if is_open:
        vertices, triangles = _welded(vertices, triangles)
        is_open = bool(_unpaired(triangles))
    z = np.rint(vertices[:, 2] * NM).astype(np.int64)
    order = np.argsort(z, kind="stable")
    place = np.empty(order.size, np.int32)
    place[order] = np.arange(order.size, dtype=np.int32)
    triangles = place[triangles]
    del place  # a bed of large meshes has its peak of memory here
    _lowest_first(triangles)
    by_height = np.empty_like(triangles)
    _sorted(triangles, np.zeros(order.size + 1, np.int32), by_height)
    del triangles
    return Mesh(np.ascontiguousarray(vertices[order, :2]), z[order], by_height, is_open)


def _welded(vertices: ndarray, triangles: ndarray) -> tuple[ndarray, ndarray]:
    """Vertices that agree to the nanometre made one; triangles that collapse are dropped."""
    _, first, place = np.unique(
        np.rint(vertices * NM).astype(np.int64), axis=0, return_index=True, return_inverse=True
    )
    triangles = place.reshape(-1).astype(np.int32)[triangles]
    flat = (
        (triangles[:, 0] == triangles[:, 1])
        | (triangles[:, 1] == triangles[:, 2])
        | (triangles[:, 2] == triangles[:, 0])
    )
    return vertices[first], np.ascontiguousarray(triangles[~flat])


@kernel
def _lowest_first(triangles):  # type: ignore[no-untyped-def]
    """Turn each triangle until its lowest corner (vertices are sorted by height) comes first."""
    for t in range(triangles.shape[0]):
        i, j, k = triangles[t, 0], triangles[t, 1], triangles[t, 2]
        if j < i and j < k:
            triangles[t, 0], triangles[t, 1], triangles[t, 2] = j, k, i
        elif k < i and k < j:
            triangles[t, 0], triangles[t, 1], triangles[t, 2] = k, i, j


@kernel
def _sorted(triangles, start, out):  # type: ignore[no-untyped-def]
    """Write triangles in the order of their first corners; `start` is zeros, one more than corners."""
    for t in range(triangles.shape[0]):
        start[triangles[t, 0] + 1] += 1
    for n in range(start.size - 1):
        start[n + 1] += start[n]
    for t in range(triangles.shape[0]):
        at = start[triangles[t, 0]]
        start[triangles[t, 0]] = at + 1
        out[at, 0], out[at, 1], out[at, 2] = triangles[t, 0], triangles[t, 1], triangles[t, 2]


@kernel
def _signed_volume(vertices, triangles):  # type: ignore[no-untyped-def]
    total = 0.0
    for t in range(triangles.shape[0]):
        a, b, c = vertices[triangles[t, 0]], vertices[triangles[t, 1]], vertices[triangles[t, 2]]
        total += a[0] * (b[1] * c[2] - b[2] * c[1])
        total += a[1] * (b[2] * c[0] - b[0] * c[2])
        total += a[2] * (b[0] * c[1] - b[1] * c[0])
    return total / 6


@kernel
def _unpaired(triangles):  # type: ignore[no-untyped-def]
    """True unless each edge is used as often in one direction as in the other.

    Directed edges are summed as 64-bit hashes, forward minus backward: zero by chance once in 2^64.
    """
    total = np.uint64(0)
    for t in range(triangles.shape[0]):
        for e in range(3):
            i, j = triangles[t, e], triangles[t, (e + 1) % 3]
            if i == j:
                continue
            low, high = min(i, j), max(i, j)
            word = (np.uint64(low) << np.uint64(32)) | np.uint64(high)
            word = (word ^ (word >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
            word = (word ^ (word >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
            word = word ^ (word >> np.uint64(31))
            total = total + word if i < j else total - word
    return total != np.uint64(0)
