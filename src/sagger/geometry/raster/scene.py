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

from sagger.compiled import kernel
from sagger.geometry.raster.upright import NM, framed


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
    distinct, groups, owners = _distinct(copies)
    points, triangles, bounds, is_open = _joined(meshes, distinct)
    low, high = (points[end, 2].astype(np.int64) for end in (bounds[0][:-1], bounds[0][1:] - 1))
    slab = max(1, round(slab_mm * NM))
    slab_first, slab_start, listed = _slabs(points, triangles, bounds[1], (low, high), slab)
    group_mesh = np.array([mesh for mesh, _ in groups], np.int32)
    group_z = np.array([z for _, z in groups], np.int64)
    return Scene(
        _held(points),
        _held(triangles),
        slab,
        _held(low),
        _held(slab_first),
        _held(slab_start),
        _held(listed),
        _held(group_mesh),
        _held(group_z),
        _held(low[group_mesh] + group_z),
        _held(high[group_mesh] + group_z),
        _held(is_open[group_mesh]),
        *_pieces(_placed(copies, owners, groups, distinct, (points, bounds[0])), pitch_mm),
    )


def _joined(
    meshes: Sequence[tuple[ndarray, ndarray]], distinct: list[tuple[int, ndarray]]
) -> tuple[ndarray, ndarray, tuple[ndarray, ndarray], ndarray]:
    """Points and triangles of all meshes end to end, where each mesh's begin, and which meshes are open.

    One mesh at a time, into arrays made for the most there can be: a bed of large meshes is not held twice.
    """
    most = [sum(len(meshes[source][side]) for source, _ in distinct) for side in (0, 1)]
    points, triangles = np.empty((most[0], 3)), np.empty((most[1], 3), np.int32)
    vertex, triangle, is_open = [0], [0], []
    for source, frame in distinct:
        mesh = framed(*meshes[source], frame)
        vertex.append(vertex[-1] + mesh.z.size)
        triangle.append(triangle[-1] + len(mesh.triangles))
        points[vertex[-2] : vertex[-1], :2] = mesh.xy
        points[vertex[-2] : vertex[-1], 2] = mesh.z
        np.add(mesh.triangles, np.int32(vertex[-2]), out=triangles[triangle[-2] : triangle[-1]])
        is_open.append(mesh.open)
    bounds = np.array(vertex), np.array(triangle)
    return points[: vertex[-1]], triangles[: triangle[-1]], bounds, np.array(is_open)


def _slabs(
    points: ndarray, triangles: ndarray, bounds: ndarray, ends: tuple[ndarray, ndarray], slab: int
) -> tuple[ndarray, ndarray, ndarray]:
    """Arrays slab_first, slab_start and listed of a scene."""
    low, high = ends
    counts = (high - low) // slab + 2
    slab_first = np.cumsum([0, *counts], dtype=np.int64)
    slab_start = np.zeros(slab_first[-1], np.int64)
    for n, floor in enumerate(low):
        start = slab_start[slab_first[n] : slab_first[n + 1]]
        _count_slabs(points, triangles, bounds[n : n + 2], floor, slab, start)
        start += slab_start[slab_first[n] - 1] if n else 0
    listed = np.empty(int(slab_start[-1]), np.int32)
    for n, floor in enumerate(low):
        place = slab_start[slab_first[n] : slab_first[n + 1] - 1].copy()
        _list_slabs((points, triangles), bounds[n : n + 2], (floor, slab), place, listed)
    return slab_first, slab_start, listed


def _distinct(
    copies: Sequence[tuple[int, ndarray]],
) -> tuple[list[tuple[int, ndarray]], list[tuple[int, int]], list[int]]:
    """Meshes and their frames, groups (mesh, height [nm]), and the group of each copy."""
    known: dict[tuple[int, bytes], int] = {}
    distinct: list[tuple[int, ndarray]] = []
    groups: dict[tuple[int, int], int] = {}
    owners = []
    for source, placement in copies:
        # Twelve decimals: a quarter turn made from a cosine still shares with one made from whole numbers.
        up = np.round(placement[2, :3], 12) + 0.0
        mesh = known.setdefault((source, up.tobytes()), len(distinct))
        if mesh == len(distinct):
            distinct.append((source, np.vstack([placement[:2, :3], up])))
        owners.append(groups.setdefault((mesh, round(float(placement[2, 3]) * NM)), len(groups)))
    return distinct, list(groups), owners


def _placed(
    copies: Sequence[tuple[int, ndarray]],
    owners: list[int],
    groups: list[tuple[int, int]],
    distinct: list[tuple[int, ndarray]],
    held: tuple[ndarray, ndarray],
) -> list[Copy]:
    """The copies from left to right; `held` are all points and where each mesh's begin."""
    points, bounds = held
    placed = []
    for group, (_, placement) in zip(owners, copies, strict=True):
        mesh = groups[group][0]
        rest = placement[:2, :3] @ np.linalg.inv(distinct[mesh][1])
        rest[np.abs(rest) < 1e-15] = 0.0
        left = _leftmost(points[bounds[mesh] : bounds[mesh + 1]], rest[0, 0], rest[0, 1]) + placement[0, 3]
        placed.append(Copy(group, rest, placement[:2, 3], float(left)))
    return sorted(placed, key=lambda copy: copy.left)


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


def _held(array: ndarray) -> ndarray:
    array = np.ascontiguousarray(array)
    array.flags.writeable = False
    return array


@kernel
def _leftmost(points, along_x, along_y):  # type: ignore[no-untyped-def]
    least = np.inf
    for n in range(np.uint64(len(points))):
        least = min(least, points[n, 0] * along_x + points[n, 1] * along_y)
    return least


@kernel
def _reach(points, corners, floor, slab):  # type: ignore[no-untyped-def]
    """First and last slab with a plane p such that lowest < p <= highest; the first corner is lowest."""
    lowest = np.int64(points[corners[0], 2])
    highest = np.int64(max(points[corners[1], 2], points[corners[2], 2]))
    return (lowest + 1 - floor) // slab, (highest - floor) // slab if highest > lowest else -1


@kernel
def _count_slabs(points, triangles, bounds, floor, slab, start):  # type: ignore[no-untyped-def]
    for t in range(bounds[0], bounds[1]):
        first, last = _reach(points, triangles[t], floor, slab)
        for s in range(first, last + 1):
            start[s + 1] += 1
    for s in range(start.size - 1):
        start[s + 1] += start[s]


@kernel
def _list_slabs(mesh, bounds, heights, place, listed):  # type: ignore[no-untyped-def]
    points, triangles = mesh
    floor, slab = heights
    for t in range(bounds[0], bounds[1]):
        first, last = _reach(points, triangles[t], floor, slab)
        for s in range(first, last + 1):
            listed[place[s]] = t
            place[s] += 1
