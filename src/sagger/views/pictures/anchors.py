"""Where on a part each line of its drawing is seen, and from which sides all of them are."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.geometry.surface import mesh
from sagger.goods import balloon
from sagger.goods.drawing import Drawing, ExactFace, GeometricTolerance
from sagger.goods.part import Part
from sagger.views.pictures.camera import Camera, Film, camera, expose, project

SIDES = [(azimuth, elevation) for elevation in (32.0, -32.0) for azimuth in (-58.0, 122.0, 32.0, -148.0)]
LOOKED = 700  # pixels across, at which is seen what is visible
NEAR = 0.004  # of the part's size: depth by which a place may lie behind what is seen
FACING = 0.12  # cosine between normal and line of sight, at least
ON_MM = 0.02  # a facet so near a surface lies on it
ALONG = 0.98  # cosine between a facet's normal and its surface's
FEW = 60  # places of a face that are tried


class Anchor(NamedTuple):
    """A feature, and every line that is of it."""

    numbers: list[str]
    points: ndarray  # float64 (n, 3): places on it [mm]
    normals: ndarray  # float64 (n, 3), outward


class ShownAnchor(NamedTuple):
    """An anchor in one picture."""

    numbers: list[str]
    at: ndarray  # float64 (2,): column and row, as shares of the picture's size
    hidden: bool  # it lies behind something


class PartSide(NamedTuple):
    """One picture and what is marked in it."""

    azimuth_deg: float
    elevation_deg: float
    seen: list[ShownAnchor]


class Anchors(NamedTuple):
    """Everything that can be marked, and the numbers of what cannot."""

    marked: list[Anchor]
    whole: list[str]  # of the whole part
    unknown: list[str]  # whose faces are not known


def anchors(part: Part) -> Anchors:
    """Each feature of a part's drawing once, with the numbers of its lines."""
    drawing = part.drawing
    if drawing is None:
        return Anchors([], [], [])
    lines = dict(balloon.numbered(drawing.dimensions, drawing.tolerances))
    whole = [number for number, line in lines.items() if isinstance(line, GeometricTolerance) and line.whole]
    by_face: dict[int, Anchor] = {}
    for number, one in zip(balloon.balloons(part.asked), part.asked, strict=True):
        if number.line not in whole:
            own = one.faces == one.faces[0]
            anchor = by_face.setdefault(int(one.faces[0]), Anchor([], one.points[own], one.normals[own]))
            anchor.numbers.append(str(number))
    unknown: list[str] = []
    for left in sorted(lines.keys() - {one.line for one in part.asked} - set(whole)):  # not evaluated
        faces = lines[left].faces
        face = next((at for at in faces if at in by_face), None)
        face = face if face is not None else _on_mesh(faces, drawing, part, by_face)
        (unknown if face is None else by_face[face].numbers).append(str(left))
    return Anchors(list(by_face.values()), [str(number) for number in whole], unknown)


def sides(part: Part, known: list[Anchor], most: int) -> list[PartSide]:
    """As few pictures as show every anchor, none with more than `most`; hidden ones stand in the first.

    Source
    ------
    Greedy cover: each next side is the one that shows most of what is not shown yet.
    """
    views = [_view(part, known, side) for side in SIDES]
    left, made = set(range(len(known))), list[PartSide]()
    while left:
        best = max(range(len(views)), key=lambda at: len(left & views[at].keys()))
        shown = sorted(left & views[best].keys())[:most]
        if not shown:
            break
        left -= set(shown)
        seen = [ShownAnchor(known[at].numbers, views[best][at], hidden=False) for at in shown]
        made.append(PartSide(*SIDES[best], seen))
    return _with_hidden(part, known, sorted(left), made, most)


def eye(part: Part, side: tuple[float, float], wide: int, high: int, margin: int) -> Camera:
    """A camera that holds the part."""
    low, high_end = part.shape.vertices.min(axis=0), part.shape.vertices.max(axis=0)
    corners = np.array([[(low, high_end)[bit][axis] for axis, bit in enumerate(bits)]
                        for bits in np.ndindex(2, 2, 2)])  # fmt: skip
    return camera(corners, *side, (wide, high), margin)


def _with_hidden(
    part: Part, known: list[Anchor], left: list[int], made: list[PartSide], most: int
) -> list[PartSide]:
    for start in range(0, len(left), most):
        seen = []
        for at in left[start : start + most]:
            side = SIDES[start // most % len(SIDES)]
            look = eye(part, side, LOOKED, LOOKED, 20)
            place = project(look, known[at].points.mean(axis=0)[None])[0, :2]
            seen.append(ShownAnchor(known[at].numbers, place / (look.columns, look.rows), hidden=True))
        made.append(PartSide(*SIDES[start // most % len(SIDES)], seen))
    return made


def _view(part: Part, known: list[Anchor], side: tuple[float, float]) -> dict[int, ndarray]:
    """Where each anchor that is visible from a side is seen best, in shares of the picture."""
    look = eye(part, side, LOOKED, LOOKED, 20)
    film = expose(look, [(part.shape.vertices, part.shape.triangles)])
    near = NEAR * float(np.linalg.norm(np.ptp(part.shape.vertices, axis=0))) * look.scale
    found = ((at, _best(look, film, anchor, near)) for at, anchor in enumerate(known))
    return {at: place for at, place in found if place is not None}


def _best(look: Camera, film: Film, anchor: Anchor, near: float) -> ndarray | None:
    facing = anchor.normals @ look.turn[2]
    put = project(look, anchor.points)
    column = np.clip(put[:, 0].astype(int), 0, look.columns - 1)
    row = np.clip(put[:, 1].astype(int), 0, look.rows - 1)
    open_ones = np.flatnonzero((facing > FACING) & (put[:, 2] >= film.depth[row, column] - near))
    if not len(open_ones):
        return None
    middle = put[open_ones, :2].mean(axis=0)
    best = open_ones[np.argmin(((put[open_ones, :2] - middle) ** 2).sum(axis=1))]
    return np.asarray(put[best, :2] / (look.columns, look.rows))


def _on_mesh(faces: tuple[int, ...], drawing: Drawing, part: Part, known: dict[int, Anchor]) -> int | None:
    """Number of the first face that facets of the part lie on, now known; None if none is."""
    surfaces = {face.number: face for face in drawing.faces}
    vectors = mesh.area_vectors(part.shape)
    sizes = np.linalg.norm(vectors, axis=1)
    normals, corners = vectors / np.maximum(sizes, 1e-300)[:, None], mesh.corners(part.shape)
    for number in faces:
        if number in surfaces and (rows := _lying(surfaces[number], corners, normals)).size:
            largest = rows[np.argsort(-sizes[rows], kind="stable")[:FEW]]
            known[number] = Anchor([], corners[largest].mean(axis=1), normals[largest])
            return number
    return None


def _lying(face: ExactFace, corners: ndarray, normals: ndarray) -> ndarray:
    """Facets on the surface of a plane or a cylinder; of another none."""
    q, along = corners - np.array(face.at_mm), np.array(face.along)
    along = along / np.linalg.norm(along)
    if face.kind == "plane":
        off, level = np.abs(q @ along), np.abs(normals @ along) > ALONG
    elif face.kind == "cylinder":
        off = np.abs(np.linalg.norm(np.cross(q, along), axis=2) - face.radius_mm)
        level = np.abs(normals @ along) < np.sqrt(1 - ALONG**2)
    else:
        return np.zeros(0, dtype=np.int64)
    return np.flatnonzero((off < ON_MM).all(axis=1) & level)
