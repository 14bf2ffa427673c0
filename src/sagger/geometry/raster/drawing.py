"""One plane of a scene as runs, with what was counted on the way."""

from __future__ import annotations

import sys
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.geometry.raster import lanes, trace
from sagger.geometry.raster.bridge import bridged
from sagger.geometry.raster.runs import Runs, count, frozen
from sagger.geometry.raster.scene import Scene

_UNHELD = 3  # references to an image: from the list, from the loop and from the question itself


class DropLattice(NamedTuple):
    """Where drops can fall: columns along x, rows along y, from the box's corner."""

    columns: int
    rows: int
    pitch_mm: tuple[float, float]


class Scratch:
    """Buffers that one thread uses again for every plane; they grow when a plane needs more."""

    def __init__(self) -> None:
        self._held: dict[str, ndarray] = {}
        self._images: list[ndarray] = []
        self._others: dict[int, Scratch] = {}

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

    def image(self, rows: int, width: int) -> ndarray:
        """Image uint8 (rows, width) of zeros, in the memory of an earlier one that nobody holds any more.

        Fresh memory for each layer would cost more than drawing it: the system clears it page by page.
        """
        self._images = [held for held in self._images if held.shape == (rows, width)]
        for held in self._images:
            if sys.getrefcount(held) == _UNHELD:
                held[:] = 0
                return held[:]
        self._images.append(np.zeros((rows, width), np.uint8))
        return self._images[-1][:]

    def other(self, number: int) -> Scratch:
        """Buffers beside these, the same ones for the same number."""
        return self._others.setdefault(number, Scratch())


class Section(NamedTuple):
    """All copies cut by one plane, placed, in drops."""

    segments: ndarray  # float64 (m, 4)
    used: int  # segments in use
    area_mm2: float  # signed; shells that overlap count twice
    bridges: int
    longest_mm: float  # of the bridges
    open_share: float  # largest share of open ends in one mesh's section [-]


class RowEdges(NamedTuple):
    """Where segments cross rows: see `trace.place_edges`."""

    lines: ndarray  # float64 (m, 3)
    extent: ndarray  # int32 (m, 2)
    used: int
    change: ndarray  # int32 (rows+1,): crossings gained from row to row


class DrawnPlane(NamedTuple):
    """One plane drawn, with what `Section` tells of its cut."""

    runs: Runs
    drops: int
    area_mm2: float
    leaks: int  # rows in which an outline did not close
    bridges: int
    longest_mm: float
    open_share: float


def draw(
    scene: Scene, plane: int, phase: tuple[float, float], columns: int, rows: int, scratch: Scratch
) -> DrawnPlane:
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
    cuts = _cut(scene, plane, scratch)
    lines, extent, change = edge_room(cuts.most, rows, scratch)
    used = trace.place_edges(scene, plane, phase, cuts.segments, cuts.spans, (lines, extent, change))
    first, held, keys, total = crossings(RowEdges(lines, extent, used, change), change, columns, scratch)
    start, at = np.empty(rows + 1, np.int32), np.empty(total, np.int32)
    n, leaks = trace.wind(first, held, keys, start, at)
    runs = frozen(columns, rows, start, at[:n])
    return DrawnPlane(
        runs, count(runs), cuts.area_mm2, int(leaks), cuts.bridges, cuts.longest_mm, cuts.open_share
    )


def cut_and_place(scene: Scene, plane: int, phase: tuple[float, float], scratch: Scratch) -> Section:
    """Placed section of one plane, its open meshes bridged."""
    cuts = _cut(scene, plane, scratch)
    segments = scratch.take("segments", (cuts.most, 4), float)
    used = trace.place(scene, plane, phase, cuts.segments, cuts.spans, segments)
    return Section(segments, used, cuts.area_mm2, cuts.bridges, cuts.longest_mm, cuts.open_share)


def edges(section: Section, rows: int, scratch: Scratch) -> RowEdges:
    """Where a section's segments cross rows."""
    lines, extent, change = edge_room(section.used, rows, scratch)
    used = trace.edges(section.segments, section.used, (lines, extent, change))
    return RowEdges(lines, extent, used, change)


def edge_room(most: int, rows: int, scratch: Scratch) -> tuple[ndarray, ndarray, ndarray]:
    """Buffers for `trace.place_edges`: lines, extent, and change set to zero."""
    change = scratch.exact("change", rows + 1, np.int32)
    change[:] = 0
    return scratch.take("lines", (most, 3), float), scratch.take("extent", (most, 2), np.int32), change


def crossings(
    edges: RowEdges, change: ndarray, columns: int, scratch: Scratch
) -> tuple[ndarray, ndarray, ndarray, int]:
    """Crossings of edges in the slots of their rows.

    Parameters
    ----------
    edges : RowEdges
        What crosses.
    change : int32 (rows+1,)
        As in `edges`, or with room for more crossings.
    columns : int
        Drops along x.
    scratch : Scratch
        Buffers of this thread.

    Returns
    -------
    tuple of (int32 (blocks+1,), int32 (rows,), int32, int)
        First slot of each block of rows, crossings in each row, the slots, and how many crossings there is
        room for.
    """
    rows = change.size - 1
    first = scratch.exact("first", lanes.blocks(rows) + 1, np.int32)
    held = scratch.exact("held", rows, np.int32)
    slots, total = lanes.lay_out(change, first, held)
    keys = scratch.take("keys", (slots * lanes.WIDTH,), np.int32)
    trace.cross(edges.lines, edges.extent, edges.used, columns, (first, held, keys))
    return first, held, keys, int(total)


class _Cuts(NamedTuple):
    segments: ndarray  # float64 (m, 4) [mm in each mesh's frame]
    spans: ndarray  # int64 (groups, 2)
    most: int  # segments there can be once all copies are placed
    area_mm2: float
    bridges: int
    longest_mm: float
    open_share: float


def _cut(scene: Scene, plane: int, scratch: Scratch) -> _Cuts:
    """Sections of all groups, open meshes bridged."""
    cut_most, placed_most = trace.room(scene, plane)
    groups = scene.group_mesh.size
    cuts = scratch.take("cuts", (cut_most, 4), float)
    spans = scratch.take("spans", (groups, 2), np.int64)
    areas = scratch.take("areas", (groups,), float)
    used = trace.cut(scene, plane, cuts, spans, areas)
    mended = Mended(cuts, 0, 0, 0.0, 0.0)
    if scene.group_open.any():
        mended = _mended(scene, plane, cuts, used, spans, areas)
    area = float(areas[scene.piece_group] @ scene.piece_scale)
    most = placed_most + mended.extra
    return _Cuts(mended.cuts, spans, most, area, mended.bridges, mended.longest_mm, mended.open_share)


class Mended(NamedTuple):
    """Cuts with the closed sections of open groups after the others; counts weighed by copies."""

    cuts: ndarray
    extra: int  # more placed segments than `trace.room` foresaw
    bridges: int
    longest_mm: float
    open_share: float


def _mended(scene: Scene, plane: int, cuts: ndarray, used: int, spans: ndarray, areas: ndarray) -> Mended:
    """Sections of open groups, closed; `spans` and `areas` are set to the closed ones."""
    copies = np.bincount(scene.piece_group, minlength=scene.group_mesh.size)
    pieces, extra, bridges, longest, share = [cuts[:used]], 0, 0, 0.0, 0.0
    for group in np.flatnonzero(scene.group_open):
        if spans[group, 0] == spans[group, 1]:
            continue
        closed = bridged(scene, int(group), plane, cuts[spans[group, 0] : spans[group, 1]])
        if closed.share == 0:
            continue
        x0, y0, x1, y1 = closed.segments.T
        areas[group] = 0.5 * float(x0 @ y1 - x1 @ y0)
        spans[group] = used, used + len(closed.segments)
        pieces.append(closed.segments)
        used += len(closed.segments)
        extra += len(closed.segments) * int(copies[group])
        bridges += closed.bridges * int(copies[group])
        longest, share = max(longest, closed.longest_mm), max(share, closed.share)
    return Mended(np.concatenate(pieces), extra, bridges, longest, share)
