"""Faces drawn elsewhere than the part file has them: offset as asked, or with stock to be cut off."""

from __future__ import annotations

import dataclasses
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.errors import OrderError
from sagger.geometry.surface import lookup, mesh
from sagger.goods.drawing import Dimension, ExactFace, GeometricTolerance
from sagger.goods.finding import Finding, ok
from sagger.goods.shape import Shape
from sagger.stations.intake.tied import Tied

MOVED = "faces moved"
NEAR_MM = 1e-4  # corners so near are one: a reader may round them
TANGENT = 0.9  # of a cosine: a neighbour that goes on smoothly is pulled along
FIRM, FREE = 30.0, 1e-3  # weights: the moved face above its neighbours, and both above standing still
TRUE_MM = 2e-3  # a moved face that is off by more is refused
NAMED = 6
REMEDY = "Move it in the drawing and send the part again."
Line = Dimension | GeometricTolerance


class Moved(NamedTuple):
    """A body with its faces moved, and what was done."""

    body: Shape
    findings: tuple[Finding, ...]


def moved(tied: Tied) -> Moved | None:
    """The body as it is to be printed, at finished size; None where no line moves a face.

    Corners go along their face's outward normal; at its rim they stay in the faces beside it. A face that
    goes on smoothly into the next pulls its rim along.

    Raises
    ------
    OrderError
        If faces cannot be moved so far, found by fitting them again.
    """
    asked = [(number, by) for number, by in enumerate(map(outward_mm, _lines(tied)), start=1) if by]
    if not asked:
        return None
    names, lines = _corners_as_one(tied.body), _lines(tied)
    wanted = np.full((len(tied.body.triangles), 3, 3), np.nan)  # by triangle and corner: outward normal
    far = np.full(len(tied.body.triangles), np.nan)
    by_number = {face.number: face for face in tied.drawing.faces}
    for number, by in asked:
        for face in lines[number - 1].faces:
            rows = tied.facets.get(face)
            if rows is not None and face in by_number:
                wanted[rows], far[rows] = _outward(tied.body, rows, by_number[face]), by
    body = _shifted(tied.body, names, wanted, far)
    told = [_verified(tied, body, number, by) for number, by in asked]
    _not_folded(tied.body, body)
    return Moved(body, (ok(MOVED, f"Faces were moved before oversize: {'; '.join(told[:NAMED])}."),))


def outward_mm(line: Line) -> float:
    """How far out of the material a line's own faces are moved: as asked, or by the stock that is cut off."""
    if line.machined_mm is not None:
        return line.machined_mm
    return line.offset_mm if isinstance(line, Dimension) and line.offset_mm is not None else 0.0


def _lines(tied: Tied) -> tuple[Line, ...]:
    return (*tied.drawing.dimensions, *tied.drawing.tolerances)


def _corners_as_one(body: Shape) -> ndarray:
    """Number of each vertex, the same where vertices lie on one another, int64."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components
    from scipy.spatial import cKDTree

    pairs = cKDTree(body.vertices).query_pairs(NEAR_MM, output_type="ndarray")
    count = len(body.vertices)
    joined = coo_array((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(count, count))
    return np.asarray(connected_components(joined, directed=False)[1], dtype=np.int64)


def _outward(body: Shape, rows: ndarray, face: ExactFace) -> ndarray:
    """Outward normal at each corner of a face's triangles, float64 (t, 3, 3)."""
    vectors = mesh.area_vectors(body)[rows]
    if face.kind != "cylinder":
        normal = vectors.sum(axis=0)
        return np.broadcast_to(normal / np.linalg.norm(normal), (len(rows), 3, 3))
    along = np.asarray(face.along) / np.linalg.norm(face.along)
    q = mesh.corners(body)[rows] - np.asarray(face.at_mm)
    radial = q - (q @ along)[..., None] * along
    radial = radial / np.linalg.norm(radial, axis=-1, keepdims=True)
    pin = float((radial.mean(axis=1) * vectors).sum()) > 0
    return np.asarray(radial if pin else -radial)


def _shifted(body: Shape, names: ndarray, wanted: ndarray, far: ndarray) -> Shape:
    """Vertices moved so that moved faces go as far as they shall and others stay in themselves."""
    vectors = mesh.area_vectors(body)
    plain = vectors / np.maximum(np.linalg.norm(vectors, axis=1), 1e-300)[:, None]
    corner = names[body.triangles]
    going = np.isfinite(far)
    touched = np.unique(corner[going])
    steps = np.zeros((int(names.max()) + 1, 3))
    rows, places = np.nonzero(np.isin(corner, touched))
    order = np.argsort(corner[rows, places], kind="stable")
    rows, places = rows[order], places[order]
    starts = np.searchsorted(corner[rows, places], touched)
    for name, mine in zip(touched, np.split(np.arange(len(rows)), starts[1:]), strict=True):
        r, p = rows[mine], places[mine]
        firm, still = going[r], ~going[r]
        normals, by = wanted[r[firm], p[firm]], far[r[firm]]
        beside = plain[r[still]]
        beside = beside[(beside @ normals.T).max(axis=1, initial=-1.0) < TANGENT]
        matrix = np.concatenate([FIRM * normals, beside, FREE * np.eye(3)])
        target = np.concatenate([FIRM * by, np.zeros(len(beside) + 3)])
        steps[name] = np.linalg.lstsq(matrix, target, rcond=None)[0]
    return dataclasses.replace(body, vertices=body.vertices + steps[names])


def _verified(tied: Tied, body: Shape, number: int, by: float) -> str:
    """In words, what was moved by how much; refused where fitting it again says otherwise."""
    line, by_number = _lines(tied)[number - 1], {face.number: face for face in tied.drawing.faces}
    worst = max(
        (_off(tied, body, by_number[face], by) for face in line.faces if face in tied.facets), default=np.inf
    )
    if not worst <= TRUE_MM:
        what = f"faces of line {number} ({line.kind}) cannot be moved by {by:g} mm"
        raise OrderError(what, field="offset", value=f"{by:g} mm", remedy=REMEDY)
    side = "out of" if by > 0 else "into"
    return f"line {number} ({line.kind}) {abs(by):g} mm {side} the material, within {worst * 1e3:.2f} µm"


def _off(tied: Tied, body: Shape, face: ExactFace, by: float) -> float:
    """How far the moved face, fitted again, is from where it shall be [mm]."""
    corners = np.unique(body.triangles[tied.facets[face.number]])
    before, after = tied.body.vertices[corners], body.vertices[corners]
    if face.kind != "cylinder":
        normal = mesh.area_vectors(tied.body)[tied.facets[face.number]].sum(axis=0)
        along = (after - before) @ (normal / np.linalg.norm(normal))
        return float(np.abs(along - by).max())
    at, along = np.asarray(face.at_mm), np.asarray(face.along) / np.linalg.norm(face.along)
    pin = 1.0 if face.outward else -1.0
    _, _, radius = lookup.cylinder(after, at, along, face.radius_mm)
    _, _, drawn = lookup.cylinder(before, at, along, face.radius_mm)
    return abs(radius - drawn - pin * by)


def _not_folded(before: Shape, after: Shape) -> None:
    """Refuse a body some of whose facets were turned over: there was no room."""
    old, new = mesh.area_vectors(before), mesh.area_vectors(after)
    over = (old * new).sum(axis=1) < 0
    if over[np.linalg.norm(old, axis=1) > 1e-9].any():
        what = "faces cannot be moved so far: the faces beside them would fold over"
        raise OrderError(what, field="offset", remedy=REMEDY)
