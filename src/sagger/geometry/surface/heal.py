"""A broken surface made closed and outward, with every change told [mm]."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.geometry.surface import holes, mesh, shells
from sagger.geometry.surface.crossings import crossings
from sagger.goods.shape import Shape

WELD_SHARES = (1e-6, 1e-5, 1e-4)  # of the part's diagonal, tried in turn on open edges
WELD_MOST_MM = 0.02  # below any powder layer, so no wall is welded away
HOLE_SHARE = 0.1  # of the part's diagonal: wider holes are not guessed at
MOST_COMPARED = 500  # solids whose boxes are held against one another
LEAST_OVERLAP = 1e-9  # of the volume of all solids: less is rounding
EMPTY = 1e-12  # of the largest shell's volume


class Healed(NamedTuple):
    """What became of a surface."""

    shape: Shape
    notes: tuple[str, ...]  # what was mended, in words
    open_edges: int  # left
    open_at: ndarray  # float64 (3,): middle of one of them
    open_wide: int  # holes left because they are too wide to guess
    widest_mm: float  # hole that was filled
    crossing: int  # pairs of triangles that run through each other
    crossing_at: ndarray  # float64 (3,): near one of them
    crossed: ndarray  # int (k,): triangles of all of them
    shells: shells.Shells
    turned_in: int  # solids inside solids that were taken for cavities
    manifold: bool  # a boolean kernel accepts the surface


def heal(body: Shape) -> Healed:
    """A surface welded, cleaned, wound alike, with small holes filled, shells facing out and overlaps joined.

    Order: weld, drop collapsed and double triangles, weld open edges within a tolerance, wind, fill, orient
    shells by nesting depth, join shells that overlap. A closed, clean surface comes back as it was.
    """
    notes: list[str] = []
    body = _cleaned(mesh.welded(body), notes)
    body = _without_loose(_rewelded(body, notes), notes)
    body, turned, conflicts = shells.wound(body)
    _note(notes, turned, "triangle{s} turned to face as {their} neighbours do")
    _note(notes, conflicts, "edge{s} where the surface is one-sided, left")
    diagonal = float(np.linalg.norm(mesh.extent(body)))
    body, widths, wide = holes.fill(body, HOLE_SHARE * diagonal)
    _note(notes, len(widths), f"hole{{s}} filled, the widest {max(widths, default=0):.3g} mm across")
    body = _solid(body, notes)
    body, hulls, turned_in = _faced(body, notes)
    pairs = crossings(body)
    if (len(pairs) or _may_overlap(body, hulls)) and not len(mesh.open_edges(body)):
        body, hulls, pairs = _joined(body, hulls, pairs, notes)
    left = mesh.open_edges(body)
    open_at = body.vertices[left[0]].mean(axis=0) if len(left) else np.zeros(3)
    crossing_at = mesh.corners(body)[pairs[0, 0]].mean(axis=0) if len(pairs) else np.zeros(3)
    manifold = not len(left) and _accepted(body)
    return Healed(
        shape=body,
        notes=tuple(notes),
        open_edges=len(left),
        open_at=open_at,
        open_wide=wide,
        widest_mm=max(widths, default=0.0),
        crossing=len(pairs),
        crossing_at=crossing_at,
        crossed=np.unique(pairs),
        shells=hulls,
        turned_in=turned_in,
        manifold=manifold,
    )


def _note(notes: list[str], count: int, words: str) -> None:
    if count:
        plain = words.format(s="" if count == 1 else "s", their="its" if count == 1 else "their")
        notes.append(f"{count} {plain}")


def _cleaned(body: Shape, notes: list[str]) -> Shape:
    """Without collapsed and double triangles."""
    slim = mesh.without_flat(body)
    _note(notes, len(body.triangles) - len(slim.triangles), "collapsed triangle{s} dropped")
    single = mesh.without_doubles(slim)
    _note(notes, len(slim.triangles) - len(single.triangles), "double triangle{s} dropped")
    return mesh.welded(single)


def _rewelded(body: Shape, notes: list[str]) -> Shape:
    """Welded at open edges by the smallest tolerance that helps most."""
    before = len(mesh.open_edges(body))
    best, least = body, before
    diagonal = float(np.linalg.norm(mesh.extent(body)))
    for share in WELD_SHARES:
        if not least:
            break
        tolerance = min(share * diagonal, WELD_MOST_MM)
        trial = mesh.without_doubles(mesh.without_flat(mesh.welded_within(body, tolerance)))
        count = len(mesh.open_edges(trial))
        if count < least:
            best, least, used = trial, count, tolerance
    if least < before:
        gone = len(body.vertices) - len(mesh.welded(best).vertices)
        notes.append(f"{gone} vertices at open edges welded within {used * 1000:.3g} um")
    return mesh.welded(best)


def _without_loose(body: Shape, notes: list[str]) -> Shape:
    """Without triangles that have no neighbour at all."""
    seams = mesh.edges(body.triangles)
    loose = (seams.sides[seams.of_side] == 1).all(axis=1)
    _note(notes, int(loose.sum()), "loose triangle{s} dropped")
    return mesh.welded(mesh.shape(body.vertices, body.triangles[~loose])) if loose.any() else body


def _solid(body: Shape, notes: list[str]) -> Shape:
    """Without closed pieces that enclose nothing (loose sheets and their mirror images)."""
    hulls = shells.find(body)
    if len(hulls.volume) < 2:
        return body
    empty = np.abs(hulls.volume) < EMPTY * float(np.abs(hulls.volume).max())
    _note(notes, int(empty.sum()), "loose piece{s} of surface that enclosed nothing dropped")
    return mesh.welded(mesh.shape(body.vertices, body.triangles[~empty[hulls.of_triangle]]))


def _faced(body: Shape, notes: list[str]) -> tuple[Shape, shells.Shells, int]:
    """Shells at even nesting depth facing out, at odd depth (cavities) facing in."""
    hulls = shells.find(body)
    wrong = np.sign(hulls.volume) * np.where(hulls.depth % 2 == 0, 1, -1) < 0
    if not wrong.any():
        return body, hulls, 0
    turned_in = int((wrong & (hulls.depth % 2 == 1)).sum())
    _note(notes, int(wrong.sum()) - turned_in, "inside-out shell{s} turned out")
    _note(notes, turned_in, "shell{s} inside another taken for a cavity and turned in")
    turn = wrong[hulls.of_triangle]
    triangles = np.where(turn[:, None], body.triangles[:, ::-1], body.triangles)
    flipped = np.where(wrong, -hulls.volume, hulls.volume)
    return mesh.shape(body.vertices, triangles), hulls._replace(volume=flipped), turned_in


def _may_overlap(body: Shape, hulls: shells.Shells) -> bool:
    """True if boxes around two solids overlap: faces that meet edge on edge do not cross."""
    solids = np.flatnonzero(hulls.depth % 2 == 0)
    if not 1 < len(solids) <= MOST_COMPARED:
        return False
    corners = [mesh.corners(body)[hulls.of_triangle == solid].reshape(-1, 3) for solid in solids]
    low, high = (np.array([getattr(points, end)(axis=0) for points in corners]) for end in ("min", "max"))
    over = ((low[:, None] < high) & (low < high[:, None])).all(axis=2)
    return bool(np.triu(over, 1).any())


def _joined(
    body: Shape, hulls: shells.Shells, pairs: ndarray, notes: list[str]
) -> tuple[Shape, shells.Shells, ndarray]:
    """Solids that overlap made one; left alone where a solid crosses itself."""
    from manifold3d import Manifold, OpType

    solid = np.where(hulls.depth % 2 == 0, np.arange(len(hulls.depth)), hulls.parent)[hulls.of_triangle]
    if (solid[pairs[:, 0]] == solid[pairs[:, 1]]).any():
        return body, hulls, pairs
    solids = [
        _manifold(mesh.shape(body.vertices, body.triangles[solid == hull])) for hull in np.unique(solid)
    ]
    union = Manifold.batch_boolean(solids, OpType.Add)
    out = union.to_mesh64()
    joined = mesh.welded(mesh.shape(out.vert_properties[:, :3], out.tri_verts))
    if union.is_empty() or len(mesh.open_edges(joined)):
        return body, hulls, pairs
    if not len(pairs) and union.volume() > (1 - LEAST_OVERLAP) * float(hulls.volume.sum()):
        return body, hulls, pairs  # they touch, or one lies in a hollow of another
    _note(notes, len(solids), "overlapping solid{s} joined into one surface")
    return joined, shells.find(joined), crossings(joined)


def _accepted(body: Shape) -> bool:
    """True if the boolean kernel takes the surface for a solid."""
    from manifold3d import Error

    return bool(len(body.triangles)) and _manifold(body).status() == Error.NoError


def _manifold(body: Shape):  # type: ignore[no-untyped-def]
    from manifold3d import Manifold, Mesh64

    body = mesh.welded(body)
    return Manifold(
        Mesh64(body.vertices.copy(), body.triangles.astype(np.uint64))
    )  # it refuses read-only arrays
