"""Points of a drawing's faces: spread evenly over their area, in rings round bores, and where faces end."""

from __future__ import annotations

import dataclasses
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.geometry.surface import mesh
from sagger.geometry.surface.forms import Sampled
from sagger.goods.drawing import ExactFace
from sagger.goods.shape import Shape
from sagger.stations.intake.tied import Tied

SPREAD = 24  # points over the area of a face
WHOLE = 120  # over that of a whole part
RING, RINGS = 12, 3  # points round a bore, and rings along it; a pair of opposite points for each two
ARC = 7  # points along an arc that is no whole turn
GAP = np.pi / 3  # between corners round an axis: a wider one is open
LEAST_ARC = np.radians(20)  # of a shorter one a radius is a guess
SAME_MM, SAME_TURN = 2e-3, 1e-5  # axes that differ less are one bore's
GOLDEN = np.array([0.7548776662466927, 0.5698402909980532])  # of the plane: fills it evenly


class Feature(NamedTuple):
    """A face, or the faces of one bore or pin together."""

    kind: str  # "plane", "cylinder" or "other"
    spread: Sampled  # evenly over the area
    ends: Sampled  # where it reaches farthest; of cylinders nothing
    at: ndarray  # float64 (3,): of an axis, or a point of it [mm]
    along: ndarray  # float64 (3,): unit direction of an axis, or outward normal
    faces: tuple[int, ...]
    turn: float  # of a cylinder, how much of its round is there [rad]
    pin: bool  # material inside

    @property
    def points(self) -> Sampled:
        """All of them."""
        return Sampled(*(np.concatenate(pair) for pair in zip(self.spread, self.ends, strict=True)))


def features(numbers: tuple[int, ...], tied: Tied) -> list[Feature]:
    """Of the faces that have facets; faces of one cylinder that overlap along it are one bore or pin."""
    by_number = {face.number: face for face in tied.drawing.faces}
    known = [by_number[number] for number in numbers if number in by_number and number in tied.facets]
    return [_round(group, tied) if group[0].kind == "cylinder" else _face(group[0], tied)
            for group in _grouped(known, tied)]  # fmt: skip


def whole(tied: Tied) -> Feature:
    """Points over the whole part, and those where it ends."""
    numbers = np.zeros(len(tied.body.triangles), dtype=np.int64)
    for number, rows in tied.facets.items():
        numbers[rows] = number
    rows = np.arange(len(numbers))
    spread, ends = _spread(rows, numbers, WHOLE, tied), _farthest(rows, numbers, tied)
    return Feature("other", spread, ends, np.zeros(3), np.zeros(3), (), 0.0, True)


def _grouped(faces: list[ExactFace], tied: Tied) -> list[list[ExactFace]]:
    groups: list[list[ExactFace]] = []
    for face in faces:
        mate = next((group for group in groups if _together(group, face, tied)), None)
        if mate is None:
            groups.append([face])
        else:
            mate.append(face)
    return groups


def _together(group: list[ExactFace], face: ExactFace, tied: Tied) -> bool:
    """Whether a face belongs to the cylinder of these."""
    one = group[0]
    if (one.kind, face.kind) != ("cylinder", "cylinder") or abs(one.radius_mm - face.radius_mm) > SAME_MM:
        return False
    along = _unit(one)
    apart = np.cross(np.asarray(face.at_mm) - np.asarray(one.at_mm), along)
    if np.linalg.norm(np.cross(along, _unit(face))) > SAME_TURN or np.linalg.norm(apart) > SAME_MM:
        return False
    spans = [_corners(each, tied) @ along for each in (*group, face)]
    low, high = min(span.min() for span in spans[:-1]), max(span.max() for span in spans[:-1])
    return bool(min(high, spans[-1].max()) - max(low, spans[-1].min()) > 0.5 * np.ptp(spans[-1]))


def _round(group: list[ExactFace], tied: Tied) -> Feature:
    """A bore, a pin or an arc of one, in rings between its ends."""
    face, along, at = group[0], _unit(group[0]), np.asarray(group[0].at_mm, dtype=float)
    rows = np.concatenate([tied.facets[turned.number] for turned in group])
    x, y = mesh_frame(along)
    part = _part(rows, tied)
    corners = mesh.corners(part).reshape(-1, 3)
    q = corners - at
    angles = np.sort(np.arctan2(q @ y, q @ x))
    gaps = np.diff(np.concatenate([angles, angles[:1] + 2 * np.pi]))
    open_at = int(np.argmax(gaps))
    turn = 2 * np.pi if gaps[open_at] < GAP else 2 * np.pi - float(gaps[open_at])
    first = 0.0 if turn == 2 * np.pi else float(angles[(open_at + 1) % len(angles)])
    around = np.arange(RING) * 2 * np.pi / RING if turn == 2 * np.pi else first + np.linspace(0, turn, ARC)
    heights = np.linspace((q @ along).min(), (q @ along).max(), RINGS)
    way = np.outer(np.cos(around), x) + np.outer(np.sin(around), y)
    vectors = mesh.area_vectors(part)
    middles = q.reshape(-1, 3, 3).mean(axis=1)
    pin = float(((middles - np.outer(middles @ along, along)) * vectors).sum()) > 0
    points = np.concatenate([at + h * along + face.radius_mm * way for h in heights])
    normals = np.tile(way if pin else -way, (RINGS, 1))
    areas = np.full(len(points), np.linalg.norm(vectors, axis=1).sum() / len(points))
    spread = Sampled(points, normals, areas, np.full(len(points), face.number))
    numbers = tuple(turned.number for turned in group)
    return Feature("cylinder", spread, _nothing(), at, along, numbers, turn, pin)


def _face(face: ExactFace, tied: Tied) -> Feature:
    rows, numbers = tied.facets[face.number], np.full(len(tied.body.triangles), face.number)
    spread, ends = _spread(rows, numbers, SPREAD, tied), _farthest(rows, numbers, tied)
    normal = (spread.normals * spread.areas[:, None]).sum(axis=0)
    along = normal / max(float(np.linalg.norm(normal)), 1e-300)
    kind = "plane" if face.kind == "plane" else "other"
    return Feature(kind, spread, ends, spread.points.mean(axis=0), along, (face.number,), 0.0, True)


def _spread(rows: ndarray, numbers: ndarray, count: int, tied: Tied) -> Sampled:
    """So many points, each standing for an equal share of the area."""
    part = _part(rows, tied)
    vectors = mesh.area_vectors(part)
    sizes = np.linalg.norm(vectors, axis=1)
    picked = np.searchsorted(np.cumsum(sizes), (np.arange(count) + 0.5) * sizes.sum() / count)
    picked = np.minimum(picked, len(rows) - 1)
    u, v = np.mod(0.5 + np.outer(np.arange(1, count + 1), GOLDEN), 1.0).T
    u, v = np.where(u + v > 1, 1 - u, u), np.where(u + v > 1, 1 - v, v)
    a, b, c = np.moveaxis(mesh.corners(part)[picked], 1, 0)
    points = a + u[:, None] * (b - a) + v[:, None] * (c - a)
    normals = vectors[picked] / np.maximum(sizes[picked], 1e-300)[:, None]
    return Sampled(points, normals, np.full(count, sizes.sum() / count), numbers[rows[picked]])


def _farthest(rows: ndarray, numbers: ndarray, tied: Tied) -> Sampled:
    """Corners that lie farthest out along the edges and diagonals of a cube: there an even field is most."""
    vectors = mesh.area_vectors(_part(rows, tied))
    corners = mesh.corners(_part(rows, tied)).reshape(-1, 3)
    ways = np.array([way for way in np.ndindex(3, 3, 3) if way != (1, 1, 1)], dtype=float) - 1
    picked = np.unique(np.argmax(corners @ ways.T, axis=0))
    unit = vectors / np.maximum(np.linalg.norm(vectors, axis=1), 1e-300)[:, None]
    of = picked // 3
    return Sampled(corners[picked], unit[of], np.zeros(len(picked)), numbers[rows[of]])


def _nothing() -> Sampled:
    return Sampled(np.zeros((0, 3)), np.zeros((0, 3)), np.zeros(0), np.zeros(0, dtype=np.int64))


def mesh_frame(along: ndarray) -> tuple[ndarray, ndarray]:
    """Two directions across an axis, along the part's own where the axis is."""
    x = np.cross(along, np.eye(3)[int(np.argmin(np.abs(along)))])
    x = x / np.linalg.norm(x)
    return x, np.cross(along, x)


def _part(rows: ndarray, tied: Tied) -> Shape:
    return dataclasses.replace(tied.body, triangles=tied.body.triangles[rows])


def _corners(face: ExactFace, tied: Tied) -> ndarray:
    return np.asarray(tied.body.vertices[np.unique(tied.body.triangles[tied.facets[face.number]])])


def _unit(face: ExactFace) -> ndarray:
    along = np.asarray(face.along, dtype=float)
    return np.asarray(along / np.linalg.norm(along))
