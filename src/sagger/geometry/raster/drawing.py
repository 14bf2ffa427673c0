"""One plane of a scene as runs, with what was counted on the way."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.geometry.raster import trace
from sagger.geometry.raster.bridge import bridged
from sagger.geometry.raster.runs import Runs
from sagger.geometry.raster.scene import Scene


class Lattice(NamedTuple):
    """Where drops can fall: columns along x, rows along y, from the box's corner."""

    columns: int
    rows: int
    pitch_mm: tuple[float, float]


class Scratch:
    """Buffers that one thread uses again for every plane; they grow when a plane needs more."""

    def __init__(self) -> None:
        self._held: dict[str, ndarray] = {}

    def take(self, name: str, shape: tuple[int, ...], kind: type) -> ndarray:
        """Uninitialised array of at least `shape` (first axis may be longer); the same one as last time."""
        held = self._held.get(name)
        if held is None or held.shape[0] < shape[0] or held.shape[1:] != shape[1:]:
            held = np.empty((shape[0] + shape[0] // 4 + 16, *shape[1:]), kind)
            self._held[name] = held
        return held

    def exact(self, name: str, size: int, kind: type) -> ndarray:
        """As `take`, cut to `size`."""
        return self.take(name, (size,), kind)[:size]


class Section(NamedTuple):
    """All copies cut by one plane, placed, in drops."""

    segments: ndarray  # float64 (m, 4)
    used: int  # segments in use
    change: ndarray  # int32 (rows+1,): crossings gained from row to row
    area_mm2: float  # signed; shells that overlap count twice
    bridges: int
    longest_mm: float  # of the bridges
    open_share: float  # largest share of open ends in one mesh's section [-]


class Drawn(NamedTuple):
    runs: Runs
    drops: int
    area_mm2: float
    leaks: int
    bridges: int
    longest_mm: float
    open_share: float


def draw(
    scene: Scene, plane: int, phase: tuple[float, float], columns: int, rows: int, scratch: Scratch
) -> Drawn:
    """Runs of one plane.

    Parameters
    ----------
    plane : int
        Height of the plane [nm].
    phase : tuple of 2 float
        Shift of the sampling points along x and y [drops], within half a drop.
    columns, rows : int
        Drops along x and y; what lies outside is left out.
    scratch : Scratch
        Buffers of this thread.
    """
    section = cut_and_place(scene, plane, phase, rows, scratch)
    start, keys = crossings(section, columns, rows, scratch)
    run_start = scratch.exact("run start", rows + 1, np.int32)
    at = scratch.take("at", (keys.size,), np.int32)
    n, covered, leaks = trace.wind(start, keys, run_start, at)
    runs = Runs(columns=columns, rows=rows, start=run_start, at=at[:n])
    return Drawn(
        runs,
        int(covered),
        section.area_mm2,
        int(leaks),
        section.bridges,
        section.longest_mm,
        section.open_share,
    )


def cut_and_place(
    scene: Scene, plane: int, phase: tuple[float, float], rows: int, scratch: Scratch, *, whole: bool = False
) -> Section:
    """Placed section of one plane, its open meshes bridged; `whole` keeps segments that cross no row."""
    cut_most, placed_most = trace.room(scene, plane)
    groups = scene.group_mesh.size
    cuts = scratch.take("cuts", (cut_most, 4), float)
    spans = scratch.take("spans", (groups, 2), np.int64)
    areas = scratch.take("areas", (groups,), float)
    n = trace.cut(scene, plane, cuts, spans, areas)
    mended = Mended(cuts, 0, 0, 0.0, 0.0)
    if scene.group_open.any():
        mended = _mended(scene, plane, cuts, n, spans, areas)
    segments = scratch.take("segments", (placed_most + mended.extra, 4), float)
    change = scratch.exact("change", rows + 1, np.int32)
    change[:] = 0
    used = trace.place(scene, plane, phase, mended.cuts, spans, whole, segments, change)
    area = float(areas[scene.piece_group] @ scene.piece_scale)
    return Section(segments, used, change, area, mended.bridges, mended.longest_mm, mended.open_share)


def crossings(section: Section, columns: int, rows: int, scratch: Scratch) -> tuple[ndarray, ndarray]:
    """Row pointers int32 (rows+1,) and keys int32 of the crossings, unsorted within rows."""
    start = scratch.exact("start", rows + 1, np.int32)
    cursor = scratch.exact("cursor", rows, np.int32)
    total = trace.row_starts(section.change, start, cursor)
    keys = scratch.take("keys", (total,), np.int32)
    trace.cross(section.segments, section.used, columns, cursor, keys)
    return start, keys


class Mended(NamedTuple):
    """Cuts with the closed sections of open groups after the others; counts weighed by copies."""

    cuts: ndarray
    extra: int  # more placed segments than `trace.room` foresaw
    bridges: int
    longest_mm: float
    open_share: float


def _mended(scene: Scene, plane: int, cuts: ndarray, n: int, spans: ndarray, areas: ndarray) -> Mended:
    """Sections of open groups, closed; `spans` and `areas` are set to the closed ones."""
    copies = np.bincount(scene.piece_group, minlength=scene.group_mesh.size)
    parts, extra, bridges, longest, share = [cuts[:n]], 0, 0, 0.0, 0.0
    for group in np.flatnonzero(scene.group_open):
        if spans[group, 0] == spans[group, 1]:
            continue
        closed = bridged(scene, int(group), plane, cuts[spans[group, 0] : spans[group, 1]])
        if closed.share == 0:
            continue
        x0, y0, x1, y1 = closed.segments.T
        areas[group] = 0.5 * float(x0 @ y1 - x1 @ y0)
        spans[group] = n, n + len(closed.segments)
        parts.append(closed.segments)
        n += len(closed.segments)
        extra += len(closed.segments) * int(copies[group])
        bridges += closed.bridges * int(copies[group])
        longest, share = max(longest, closed.longest_mm), max(share, closed.share)
    return Mended(np.concatenate(parts), extra, bridges, longest, share)
