"""An exported stack read back and compared with the parts, by another path than the one that drew it.

Sections come from a general solid library, drops from the files; of the drawing only the recipe is used.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import manifold3d
import numpy as np
from numpy import ndarray

from sagger.geometry import raster
from sagger.goods.good import good
from sagger.goods.layout import Piece
from sagger.goods.stack import Stack
from sagger.tick import Tick, silent

_MARGIN = 2  # drops around a piece that are looked at
_LOOKED_AT = 24  # layers of each piece whose outline is compared


@good
class PieceCheck:
    """One piece as its drops would print it, against the compensated part."""

    part: int
    number: int
    volume_mm3: float  # of its drops
    expected_mm3: float
    height_error_mm: float  # drops' height less the part's: within half a layer if all is well
    edge_bias_mm: float  # mean distance of the drops' edge outside the part's outline
    deviation_mm: float  # largest distance from the outline of a drop's middle on the wrong side of it
    worst_layer: int  # where that is


@good
class Verdict:
    pieces: tuple[PieceCheck, ...]
    strays: int  # drops near no piece


def verify(stack: Stack, read: Callable[[int], raster.Runs], *, tick: Tick = silent) -> Verdict:
    """What the layers would print, piece by piece.

    Parameters
    ----------
    stack : Stack
        The recipe.
    read : callable
        Gives the drops of layer k as read from its file.

    Returns
    -------
    Verdict
        Volume, height, edge bias and largest deviation of each piece; and drops in no piece's bounding box.
        Drops within one drop of another piece's section are taken to be that piece's.
    """
    bodies = [_body(stack, piece) for piece in stack.layout.pieces]
    boxes = [_window(stack, body) for body in bodies]
    near = [
        [m for m, other in enumerate(boxes) if m != n and _meet(box, other)] for n, box in enumerate(boxes)
    ]
    volumes, spans = np.zeros(len(bodies)), [[stack.count, -1] for _ in bodies]
    edges: list[list[tuple[float, float, float, int]]] = [[] for _ in bodies]
    strays = 0
    for k in tick.over(range(stack.count), "verifying layers"):
        image = raster.image(read(k))
        free = image.copy()
        for n, box in enumerate(boxes):
            if not box.first <= k <= box.last:
                continue
            drops = image[box.rows, box.columns]
            free[box.rows, box.columns] = False
            for other in near[n]:
                if boxes[other].first <= k <= boxes[other].last:
                    drops = drops & ~_grown(_section_drops(stack, bodies[other], box, k))
            volumes[n] += np.count_nonzero(drops)
            if drops.any():
                spans[n] = [min(spans[n][0], k), k]
            if (k - box.first) % box.every == 0:
                edges[n].append((*_edge(stack, bodies[n], box, k, drops), k))
        strays += int(np.count_nonzero(free))
    cell = math.prod(stack.pitch_mm) * stack.layer_mm
    checks = (
        _check(stack, piece, body, volumes[n] * cell, spans[n], edges[n])
        for n, (piece, body) in enumerate(zip(stack.layout.pieces, bodies, strict=True))
    )
    return Verdict(pieces=tuple(checks), strays=strays)


@good
class _Window:
    rows: slice
    columns: slice
    first: int
    last: int
    every: int


def _body(stack: Stack, piece: Piece) -> manifold3d.Manifold:
    shape = stack.layout.greens[piece.part].shape
    vertices = shape.vertices @ piece.placement[:3, :3].T + piece.placement[:3, 3]
    triangles = shape.triangles
    if np.linalg.det(piece.placement[:3, :3]) < 0:
        triangles = triangles[:, ::-1]
    mesh = manifold3d.Mesh64(
        vert_properties=np.ascontiguousarray(vertices), tri_verts=np.ascontiguousarray(triangles, np.uint64)
    )
    mesh.merge()
    return manifold3d.Manifold(mesh)


def _window(stack: Stack, body: manifold3d.Manifold) -> _Window:
    low, high = np.array(body.bounding_box()[:3]), np.array(body.bounding_box()[3:])
    pitch = np.array(stack.pitch_mm)
    begin = np.maximum(np.floor(low[:2] / pitch).astype(int) - _MARGIN, 0)
    end = np.ceil(high[:2] / pitch).astype(int) + _MARGIN
    first, last = (int(height // stack.layer_mm) for height in (low[2], high[2]))
    return _Window(
        rows=slice(int(begin[1]), int(min(end[1], stack.rows))),
        columns=slice(int(begin[0]), int(min(end[0], stack.columns))),
        first=max(first - 1, 0),
        last=min(last + 1, stack.count - 1),
        every=max(1, (last - first) // _LOOKED_AT),
    )


def _edge(
    stack: Stack, body: manifold3d.Manifold, box: _Window, k: int, drops: ndarray
) -> tuple[float, float, float]:
    """Area of drops less that of the section, length of outline, largest deviation [mm2, mm, mm]."""
    starts, ends = _outline(stack, body, k)
    cell = math.prod(stack.pitch_mm)
    if not len(starts):
        return float(np.count_nonzero(drops)) * cell, 0.0, 0.0
    x, y = _middles(stack, box)
    wrong = np.argwhere(drops != _inside(x, y, starts, ends))
    area = 0.5 * float((starts[:, 0] * ends[:, 1] - ends[:, 0] * starts[:, 1]).sum())
    deviation = max((_distance(x[c], y[r], starts, ends) for r, c in wrong), default=0.0)
    return np.count_nonzero(drops) * cell - area, float(np.hypot(*(ends - starts).T).sum()), deviation


def _section_drops(stack: Stack, body: manifold3d.Manifold, box: _Window, k: int) -> ndarray:
    """Where the middles of drops lie inside a body's section, within a window."""
    return _inside(*_middles(stack, box), *_outline(stack, body, k))


def _outline(stack: Stack, body: manifold3d.Manifold, k: int) -> tuple[ndarray, ndarray]:
    """Starts and ends float64 (n, 2) of the segments of a section, solid on the left [mm]."""
    # A nanometre lower: a face that lies in the plane then counts as drawn, as it does in the cutter.
    height = (k + 0.5) * stack.layer_mm - 1e-6
    rings = [np.asarray(ring) for ring in body.slice(height).to_polygons()]
    if not rings:
        return np.empty((0, 2)), np.empty((0, 2))
    return np.concatenate(rings), np.concatenate([np.roll(ring, -1, axis=0) for ring in rings])


def _middles(stack: Stack, box: _Window) -> tuple[ndarray, ndarray]:
    x = (np.arange(box.columns.start, box.columns.stop) + 0.5) * stack.pitch_mm[0]
    y = (np.arange(box.rows.start, box.rows.stop) + 0.5) * stack.pitch_mm[1]
    return x, y


def _inside(x: ndarray, y: ndarray, starts: ndarray, ends: ndarray) -> ndarray:
    """Which of the places (y, x) lie inside the rings, by even and odd crossings."""
    flips = np.zeros((len(y), len(x) + 1), np.int32)
    upward = (starts[:, 1] < ends[:, 1])[:, None]
    low, high = np.where(upward, starts, ends), np.where(upward, ends, starts)
    first = np.searchsorted(y, low[:, 1])
    counts = np.searchsorted(y, high[:, 1]) - first
    which = np.repeat(np.arange(len(low)), counts)
    rows = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts) + first[which]
    slope = (high[which, 0] - low[which, 0]) / (high[which, 1] - low[which, 1])
    crossing = low[which, 0] + (y[rows] - low[which, 1]) * slope
    np.add.at(flips, (rows, np.searchsorted(x, crossing)), 1)
    odd: ndarray = np.cumsum(flips, axis=1)[:, :-1] % 2 == 1
    return odd


def _grown(drops: ndarray) -> ndarray:
    """Drops and their eight neighbours."""
    grown = drops.copy()
    grown[1:] |= drops[:-1]
    grown[:-1] |= drops[1:]
    wide = grown.copy()
    wide[:, 1:] |= grown[:, :-1]
    wide[:, :-1] |= grown[:, 1:]
    return wide


def _meet(a: _Window, b: _Window) -> bool:
    """Whether two windows share a drop in some layer."""
    pairs = (
        (a.rows, b.rows),
        (a.columns, b.columns),
        (slice(a.first, a.last + 1), slice(b.first, b.last + 1)),
    )
    return all(one.start < other.stop and other.start < one.stop for one, other in pairs)


def _distance(x: float, y: float, starts: ndarray, ends: ndarray) -> float:
    along = ends - starts
    square = np.maximum((along**2).sum(axis=1), 1e-30)
    share = np.clip(((np.array([x, y]) - starts) * along).sum(axis=1) / square, 0, 1)
    return float(np.hypot(*(starts + share[:, None] * along - [x, y]).T).min())


def _check(
    stack: Stack,
    piece: Piece,
    body: manifold3d.Manifold,
    volume: float,
    span: Sequence[int],
    edges: list[tuple[float, float, float, int]],
) -> PieceCheck:
    _, _, bottom, _, _, top = body.bounding_box()
    printed = (span[1] + 1 - span[0]) * stack.layer_mm if span[1] >= 0 else 0.0
    area, length = sum(edge[0] for edge in edges), sum(edge[1] for edge in edges)
    worst = max(edges, key=lambda edge: edge[2], default=(0.0, 0.0, 0.0, -1))
    return PieceCheck(
        part=piece.part,
        number=piece.number,
        volume_mm3=float(volume),
        expected_mm3=float(body.volume()),
        height_error_mm=float(printed - (top - bottom)),
        edge_bias_mm=area / length if length else 0.0,
        deviation_mm=worst[2],
        worst_layer=worst[3],
    )
