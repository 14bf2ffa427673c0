"""Placed triangle meshes made ready for cutting at any height, with copies sharing what they can.

Heights are integer nanometres, in the index and in the cutter, so that both always agree on which triangles
a plane meets. Copies whose heights follow the same row of their placement share mesh, index and section:
within a plane, the rest of a placement is a 2 x 2 map and a shift.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.geometry.raster.kernel import kernel

NM = 1_000_000  # nanometres in a millimetre


class Mesh(NamedTuple):
    """One oriented mesh, sorted by height."""

    xy: ndarray  # float64 (n, 2) [mm]
    z: ndarray  # int64 (n,) [nm], ascending
    triangles: ndarray  # int32 (m, 3), lowest corner first
    open: bool  # some edge is not used once in each direction


class Scene(NamedTuple):
    """All meshes end to end, groups of copies at one height, and the copies; read by kernels."""

    points: ndarray  # float64 (n, 3): x and y [mm], z in whole nanometres, exact up to 2^53
    triangles: ndarray  # int32 (m, 3)
    slab: int  # height of a slab [nm]
    floor: ndarray  # int64 (meshes,): bottom of a mesh's first slab [nm]
    slab_first: ndarray  # int64 (meshes+1,): a mesh's first entry in slab_start
    slab_start: ndarray  # int64: a slab's first entry in listed
    listed: ndarray  # int32: triangles that some plane inside the slab can meet
    group_mesh: ndarray  # int32 (groups,)
    group_z: ndarray  # int64 (groups,): height of the mesh's origin [nm]
    group_low: ndarray  # int64 (groups,): a plane p cuts the group if low < p <= high [nm]
    group_high: ndarray  # int64 (groups,)
    group_open: ndarray  # bool (groups,)
    piece_group: ndarray  # int32 (pieces,): ordered by x, so that rows come out nearly sorted
    piece_map: ndarray  # float64 (pieces, 8): drops from mesh mm: x = m0 x + m1 y + m2 z + m3, y likewise
    piece_mirrored: ndarray  # bool (pieces,)
    piece_scale: ndarray  # float64 (pieces,): area in the box over area of the shared section


class Copy(NamedTuple):
    """One placed copy of a shared mesh."""

    group: int
    rest: ndarray  # float64 (2, 3): x and y in the box from the mesh's x, y, z, without the shift
    shift: ndarray  # float64 (2,) [mm]
    left: float  # its lowest x [mm]


def scene(
    meshes: Sequence[tuple[ndarray, ndarray]],
    copies: Sequence[tuple[int, ndarray]],
    pitch_mm: tuple[float, float],
    slab_mm: float,
) -> Scene:
    """Scene of placed copies.

    Parameters
    ----------
    meshes : sequence of (float64 (n, 3) [mm], int32 (m, 3))
        Vertices and triangles, counter-clockwise seen from outside.
    copies : sequence of (int, float64 (4, 4))
        Which mesh, and its placement [mm -> mm in the box].
    pitch_mm : tuple of 2 float
        Spacing of drops along x and y [mm].
    slab_mm : float
        Height of the slabs of the index [mm]; the layer height is a good one.
    """
    shared, groups, placed = _share(meshes, copies)
    slab = max(1, round(slab_mm * NM))
    tables = [_slabs(mesh, int(mesh.z[0]), slab) for mesh in shared]
    vertex = np.cumsum([0, *(mesh.z.size for mesh in shared)])
    triangle = np.cumsum([0, *(len(mesh.triangles) for mesh in shared)])
    entry = np.cumsum([0, *(listed.size for _, listed in tables)])
    triangles = [mesh.triangles + np.int32(base) for mesh, base in zip(shared, vertex, strict=False)]
    starts = [start + base for (start, _), base in zip(tables, entry, strict=False)]
    lists = [listed + np.int32(base) for (_, listed), base in zip(tables, triangle, strict=False)]
    group_mesh = np.array([mesh for mesh, _ in groups], np.int32)
    group_z = np.array([z for _, z in groups], np.int64)
    low, high = (np.array([mesh.z[end] for mesh in shared], np.int64) for end in (0, -1))
    return Scene(
        _held(np.concatenate([np.column_stack([mesh.xy, mesh.z]) for mesh in shared])),
        _held(np.concatenate(triangles)),
        slab,
        _held(low),
        _held(np.cumsum([0, *(start.size for start in starts)], dtype=np.int64)),
        _held(np.concatenate(starts)),
        _held(np.concatenate(lists)),
        _held(group_mesh),
        _held(group_z),
        _held(low[group_mesh] + group_z),
        _held(high[group_mesh] + group_z),
        _held(np.array([mesh.open for mesh in shared])[group_mesh]),
        *_pieces(placed, pitch_mm),
    )


def oriented(vertices: ndarray, triangles: ndarray) -> Mesh:
    """Mesh sorted by height; welded by whole nanometres if its edges do not pair up as they are."""
    triangles = np.ascontiguousarray(triangles, np.int32)
    if _unpaired(triangles):
        vertices, triangles = _welded(vertices, triangles)
    z = np.rint(vertices[:, 2] * NM).astype(np.int64)
    order = np.argsort(z, kind="stable")
    place = np.empty(order.size, np.int32)
    place[order] = np.arange(order.size, dtype=np.int32)
    triangles = place[triangles]
    _lowest_first(triangles)
    triangles = triangles[np.argsort(triangles[:, 0], kind="stable")]
    xy = np.ascontiguousarray(vertices[order, :2])
    return Mesh(xy, z[order], np.ascontiguousarray(triangles), bool(_unpaired(triangles)))


def _share(
    meshes: Sequence[tuple[ndarray, ndarray]], copies: Sequence[tuple[int, ndarray]]
) -> tuple[list[Mesh], list[tuple[int, int]], list[Copy]]:
    """Distinct oriented meshes, groups (mesh, height [nm]), and copies from left to right."""
    known: dict[tuple[int, bytes], int] = {}
    frames: list[ndarray] = []
    shared: list[Mesh] = []
    groups: dict[tuple[int, int], int] = {}
    placed = []
    for source, placement in copies:
        # Twelve decimals: a quarter turn made from a cosine still shares with one made from whole numbers.
        up = np.round(placement[2, :3], 12) + 0.0
        mesh = known.setdefault((source, up.tobytes()), len(shared))
        if mesh == len(shared):
            frames.append(np.vstack([placement[:2, :3], up]))
            shared.append(_framed(*meshes[source], frames[mesh]))
        group = groups.setdefault((mesh, round(float(placement[2, 3]) * NM)), len(groups))
        rest = placement[:2, :3] @ np.linalg.inv(frames[mesh])
        rest[np.abs(rest) < 1e-15] = 0.0
        left = float((shared[mesh].xy @ rest[0, :2]).min() + placement[0, 3])
        placed.append(Copy(group, rest, placement[:2, 3], left))
    return shared, list(groups), sorted(placed, key=lambda copy: copy.left)


def _framed(vertices: ndarray, triangles: ndarray, frame: ndarray) -> Mesh:
    turned = np.asarray(vertices, np.float64) @ frame.T
    triangles = np.array(triangles, np.int32)
    inside_out = _signed_volume(turned, triangles) < 0
    return oriented(turned, triangles[:, ::-1] if inside_out else triangles)


def _pieces(placed: list[Copy], pitch_mm: tuple[float, float]) -> tuple[ndarray, ndarray, ndarray, ndarray]:
    """Arrays piece_group, piece_map, piece_mirrored and piece_scale of a scene."""
    maps = np.empty((len(placed), 2, 4))
    for row, copy in zip(maps, placed, strict=True):
        row[:, :3] = copy.rest
        row[:, 3] = copy.shift
    maps /= np.array(pitch_mm)[:, None]
    turn = np.array([np.linalg.det(copy.rest[:, :2]) for copy in placed])
    group = np.array([copy.group for copy in placed], np.int32)
    return _held(group), _held(maps.reshape(-1, 8)), _held(turn < 0), _held(np.abs(turn))


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


def _slabs(mesh: Mesh, floor: int, slab: int) -> tuple[ndarray, ndarray]:
    """First entry of each slab, and triangles slab by slab."""
    start = np.zeros((int(mesh.z[-1]) - floor) // slab + 2, np.int64)
    _count_slabs(mesh.z, mesh.triangles, floor, slab, start)
    listed = np.empty(int(start[-1]), np.int32)
    _list_slabs(mesh.z, mesh.triangles, floor, slab, start[:-1].copy(), listed)
    return start, listed


def _held(array: ndarray) -> ndarray:
    array = np.ascontiguousarray(array)
    array.flags.writeable = False
    return array


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
def _reach(z, corners, floor, slab):  # type: ignore[no-untyped-def]
    """First and last slab with a plane p such that lowest < p <= highest; the first corner is lowest."""
    a, b, c = z[corners[0]], z[corners[1]], z[corners[2]]
    highest = max(b, c)
    return (a + 1 - floor) // slab, (highest - floor) // slab if highest > a else -1


@kernel
def _count_slabs(z, triangles, floor, slab, start):  # type: ignore[no-untyped-def]
    for t in range(triangles.shape[0]):
        first, last = _reach(z, triangles[t], floor, slab)
        for s in range(first, last + 1):
            start[s + 1] += 1
    for s in range(start.size - 1):
        start[s + 1] += start[s]


@kernel
def _list_slabs(z, triangles, floor, slab, place, listed):  # type: ignore[no-untyped-def]
    for t in range(triangles.shape[0]):
        first, last = _reach(z, triangles[t], floor, slab)
        for s in range(first, last + 1):
            listed[place[s]] = t
            place[s] += 1


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
