"""What moves faces of a drawing's lines beside their lengths: sag, bleed, soaking, drops, layers, edges."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np
from numpy import ndarray
from scipy.spatial import cKDTree

from sagger.goods.order import Choices
from sagger.goods.powder import Powder
from sagger.goods.sag import Sag
from sagger.physics.drops import drop_lattice
from sagger.stations.promise import contact_doubt
from sagger.stations.promise.drawn_rows import DrawnRows
from sagger.stations.promise.edges_doubt import BLEED, EDGE, LATTICE, SAG, UP, beam_sag, creep, sag_law
from sagger.stations.promise.source import LOT, PIECE, SHOP, DoubtSource, even
from sagger.statistics import chance

FLAT = 0.999  # of a normal along an axis: such a face is drawn as a whole at one layer, or between two drops
UPRIGHT = 0.02  # of a normal across the bed: a face less upright than that has no outline to bleed over
ROUND = 2**-0.5  # each half of a bore's edge lies for itself, so its diameter scatters as two edges do
LEAST_MM = 1e-6  # moved by less, a row does not depend on a face
PHASES = 512  # of the lattice, over which the scatter that it causes is told

Field = Callable[[ndarray], ndarray]  # places of the part's axes, float64 (n, 3), to how far they move


def shifts(rows: DrawnRows) -> ndarray:
    """How far the middle of each row lies off by what is known: sag, and whole layers; float64 (rows,)."""
    middle, _, _ = _sunk(rows)
    known = rows.moved(middle) + rows.of(lambda i: _layered(rows, i))
    return np.asarray(known + contact_doubt.shifts(rows) + rows.offset(_drawn_off(rows)))


def _drawn_off(rows: DrawnRows) -> dict[int, float]:
    """Faces that the order has drawn elsewhere; one that is cut afterwards lies where it shall [mm]."""
    drawing = rows.green.part.drawing
    sizes = drawing.dimensions if drawing is not None else ()
    return {face: size.offset_mm for size in sizes if size.offset_mm is not None for face in size.faces}


def sagged(rows: DrawnRows) -> ndarray:
    """What of that is sag, float64 (rows,)."""
    return rows.moved(_sunk(rows)[0])


def edges(rows: DrawnRows, powder: Powder, choices: Choices, measured: bool) -> Iterator[DoubtSource]:
    """Every source that does not grow with the size; with `measured` scatter those that it holds are left."""
    if not rows.asked:
        return
    yield from _sags(rows, powder)
    yield from _bleeds(rows, powder)
    yield from contact_doubt.doubts(rows)
    if not measured:
        yield from _scatters(rows, powder)
        yield from _rounds(rows)
        yield from _lattice(rows, choices)


def _still(points: ndarray) -> ndarray:
    return np.zeros_like(points)


def _sunk(rows: DrawnRows) -> tuple[Field, Field, Field]:
    """What is expected; half of what it may be more or less, anywhere; what the law's doubt is relative to.

    By finite elements where the job has them. The beam rule tells how deep but not where: then a bow over the
    part's longest way across, from none to all of that depth.
    """
    sag, part = rows.green.sag, rows.green.part
    if sag is not None and sag.finished is not None:
        moved = sag.finished.surface.vertices - sag.finished.nominal
        whole = moved if sag.untreated_mm is None else sag.untreated_mm
        return _nearest(rows, sag, moved), _still, _nearest(rows, sag, whole)
    if not (sagging := beam_sag(rows.green)):
        return _still, _still, _still
    low, high = part.shape.vertices.min(axis=0), part.shape.vertices.max(axis=0)
    depth = sagging / 2
    way = int(np.argmax((high - low)[:UP]))

    def bow(points: ndarray) -> ndarray:
        off = (2 * points[:, way] - low[way] - high[way]) / (high - low)[way]
        return np.outer(1 - off**2, -depth * np.eye(3)[UP])

    return bow, bow, bow


def _nearest(rows: DrawnRows, sag: Sag, moved: ndarray) -> Field:
    """The field of a furnace run, which stands in the first orientation with its setter at zero."""
    turned = np.asarray(rows.green.part.turns[0])
    nominal = sag.finished.nominal if sag.finished is not None else moved
    start = (rows.green.part.shape.vertices @ turned.T).min(axis=0) - nominal.min(axis=0)
    tree = cKDTree(nominal)

    def of(points: ndarray) -> ndarray:
        return np.asarray(moved[tree.query(points @ turned.T - start)[1]] @ turned)

    return of


def _sags(rows: DrawnRows, powder: Powder) -> Iterator[DoubtSource]:
    _, half, whole = _sunk(rows)
    if powder.sintering is None or (half is _still and whole is _still):
        return
    if half is not _still:
        key = f"{SAG} {rows.green.part.digest}"
        yield DoubtSource(SAG, key, SHOP, chance.rectangular(1.0) * -rows.moved(half), even)
    yield DoubtSource(SAG, "sag law", SHOP, sag_law(powder.sintering) * -rows.moved(whole))


def _bleeds(rows: DrawnRows, powder: Powder) -> Iterator[DoubtSource]:
    """Binder beyond outlines moves upright faces out across the bed, and undersides down."""
    across = creep(powder.bleed, powder.bleed_doubt)
    below = creep(powder.bleed_depth, powder.bleed_doubt)
    if not (across or below):
        return

    def outline(i: int) -> ndarray:
        wide = np.linalg.norm(rows.normals[i][:, :UP], axis=1)
        out = (rows.normals[i][:, :UP] ** 2 / rows.k[:UP]).sum(axis=1)
        return np.where(wide > UPRIGHT, across * out / np.maximum(wide, UPRIGHT), 0.0)

    def underside(i: int) -> ndarray:
        return np.asarray(below * np.maximum(-rows.normals[i][:, UP], 0.0) / rows.k[UP])

    yield DoubtSource(BLEED, BLEED, LOT, rows.of(outline))
    yield DoubtSource(BLEED, "soaking", LOT, rows.of(underside))


def _scatters(rows: DrawnRows, powder: Powder) -> Iterator[DoubtSource]:
    """Each face lies a little elsewhere on each piece, and the same face in every line that it is of."""
    if powder.edge_scatter is None:
        return
    scatter, drawing = powder.edge_scatter.value * 1e3, rows.green.part.drawing
    rounded = {face.number for face in drawing.faces if face.kind == "cylinder"} if drawing else set()
    for number in np.unique(np.concatenate([one.faces for one in rows.asked])).tolist():
        share = scatter * (ROUND if number in rounded else 1.0)

        def out(i: int, number: int = number, share: float = share) -> ndarray:
            finished = (rows.normals[i] ** 2 / rows.k).sum(axis=1)
            return np.where(rows.asked[i].faces == number, share * finished, 0.0)

        yield DoubtSource(EDGE, f"{EDGE} of face {number}", PIECE, rows.of(out))


def _layered(rows: DrawnRows, i: int) -> ndarray:
    """How far flat faces lie out of place because a height is a whole number of layers [mm]."""
    up = rows.normals[i][:, UP]
    height = (rows.points[i][:, UP] - rows.bottom) * rows.k[UP] / rows.stack.layer_mm
    off = (np.round(height) - height) * rows.stack.layer_mm / rows.k[UP]
    return np.where(rows.flat[i] & (np.abs(up) > FLAT), up * off, 0.0)


def _lattice(rows: DrawnRows, choices: Choices) -> Iterator[DoubtSource]:
    """Upright flat faces lie between two drops, wherever the piece lies on the lattice; others even it out.

    Source
    ------
    One phase for all faces across one axis: two of them at distance L scatter by p sqrt(f (1 - f)), f the
    share of a drop that L leaves over. With sizes by place every face has its own phase.
    """
    if choices.snap:
        return  # faces lie between drops
    for axis in range(UP):
        places = _places(rows, axis)
        if not choices.by_place:
            moved = _phased(rows, axis, None)
            known = moved((np.arange(PHASES) + 0.5) / PHASES)
            if np.any(known):
                yield DoubtSource(
                    LATTICE, f"{LATTICE} along {axis}", PIECE, np.sqrt((known**2).mean(axis=0)), moved=moved
                )
            continue
        for place in places:
            moved = _phased(rows, axis, place)
            known = moved((np.arange(PHASES) + 0.5) / PHASES)
            key = f"{LATTICE} along {axis} at {place}"
            yield DoubtSource(LATTICE, key, PIECE, np.sqrt((known**2).mean(axis=0)), moved=moved)


def _rounds(rows: DrawnRows) -> Iterator[DoubtSource]:
    """Bores and pins along an axis of the machine scatter a little by where their middle lies on the lattice.

    Layers that are drawn on a moved lattice even it out among themselves.
    """
    drawing = rows.green.part.drawing
    for face in drawing.faces if drawing is not None else ():
        section = contact_doubt.lattice_across(rows, face)
        on = [np.flatnonzero(one.faces == face.number) for one in rows.asked]
        places = [points[at, UP] for points, at in zip(rows.points, on, strict=True) if len(at)]
        if section is None or not places or 2 * face.radius_mm * section.k * 1e-3 <= max(section.pitch):
            continue
        u = drop_lattice.round_u(2 * face.radius_mm * section.k * 1e-3, section.pitch) * 1e3 / section.k
        if section.axis == UP and rows.stack.jitter:
            height = float(np.ptp(np.concatenate(places))) * rows.k[UP]
            u /= max(1.0, height / rows.stack.layer_mm) ** 0.5
        out = rows.of(_of_face(rows, face.number, u / 2))
        if np.any(np.abs(out) > LEAST_MM):
            yield DoubtSource(LATTICE, f"{LATTICE} of face {face.number}", PIECE, out)


def _of_face(rows: DrawnRows, number: int, outward: float) -> Callable[[int], ndarray]:
    return lambda i: np.where(rows.asked[i].faces == number, outward, 0.0)


def _places(rows: DrawnRows, axis: int) -> list[float]:
    """Where upright flat faces across an axis lie, to the micrometre."""
    places = [
        points[flat & (np.abs(normals[:, axis]) > FLAT), axis]
        for points, normals, flat in zip(rows.points, rows.normals, rows.flat, strict=True)
    ]
    return sorted(set(np.concatenate(places).round(3).tolist()))


def _phased(rows: DrawnRows, axis: int, place: float | None) -> Callable[[ndarray], ndarray]:
    """Moves of the rows by the phase of the lattice, of the faces at one place or of all."""
    pitch, k = rows.stack.pitch_mm[axis], float(rows.k[axis])

    def out(i: int, phase: ndarray) -> ndarray:
        at, along = rows.points[i][:, axis], rows.normals[i][:, axis]
        drops = (at * k / pitch)[:, None] + phase
        flat = rows.flat[i] & (np.abs(along) > FLAT)
        if place is not None:
            flat &= at.round(3) == place
        return np.asarray((along * flat)[:, None] * (np.round(drops) - drops) * pitch / k)

    known: list[tuple[ndarray, ndarray]] = []  # the draws of an order are asked for again and again

    def moved(phase: ndarray) -> ndarray:
        if not known or known[-1][0] is not phase:
            known[:] = [(phase, np.asarray(rows.of(lambda i: out(i, phase)).T))]
        return known[-1][1]

    return moved
