"""Cylinders, cones and spheres through points of a mesh: a first guess, a fit, and what lies near [mm]."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.geometry.surface import lookup

LEAST = {"cylinder": 4, "sphere": 8, "cone": 4}  # facets
RADIAL = 0.9  # cosine between a facet's normal and the surface's, at least
ROUNDS = 30
LEAST_OFF = 1e-5  # [mm]: rounding of a file's numbers
ROUND_MM = (0.1, 0.127)  # steps of diameters on drawings [mm]: a tenth, and 0.005 inch
ON_THE_SPOT = 1e-3  # a round diameter so near goes before a rounder one farther off [mm]
MOST_ROUNDED = 0.01  # so far at most is a diameter moved to a round one [mm]
BORNE = 2.0  # times the scatter of the best fit: a round diameter with no more is as good
STEEP = 20.0  # radius over height of a cone: steeper is taken for a plane


class RoundFace(NamedTuple):
    """A round face on its way to being found."""

    kind: str  # "cylinder", "cone" or "sphere"
    at: ndarray  # float64 (3,): on the axis, or the centre
    along: ndarray  # float64 (3,): the axis; of a sphere any
    radius: float  # of a cone at `at`
    slope: float  # of a cone: radius gained along the axis; else 0
    outward: bool  # whether material lies inside: a pin is so, a bore is not
    rows: ndarray  # int64 (t,): its facets


def guessed(kind: str, corners: ndarray, normals: ndarray) -> RoundFace | None:
    """A face through facets: axis from their normals, radius from their corners; None if they say none.

    Parameters
    ----------
    corners, normals : array (t, 3, 3), (t, 3)
    """
    points = corners.reshape(-1, 3)
    middle = points.mean(axis=0)
    if kind == "sphere":
        return _sphere(points, normals, corners)
    # normals of a cylinder are at right angles to its axis, those of a cone at one angle to it
    centred = normals - (normals.mean(axis=0) if kind == "cone" else 0)
    axis = np.linalg.svd(centred)[2][2]
    x, y = lookup.across(axis)
    flat = np.stack([(points - middle) @ x, (points - middle) @ y], axis=1)
    if kind == "cone":
        return _cone(corners, normals, axis)
    rows = np.column_stack([2 * flat, np.ones(len(flat))])
    (a, b, c), _, rank, _ = np.linalg.lstsq(rows, (flat**2).sum(axis=1), rcond=1e-9)
    if rank < 3 or c + a * a + b * b <= 0:
        return None
    radius = float(np.sqrt(c + a * a + b * b))
    at = middle + a * x + b * y
    face = RoundFace(kind, at, axis, radius, 0.0, True, np.empty(0, np.int64))
    return _faced(face, corners, normals)


def refined(points: ndarray, weights: ndarray, face: RoundFace) -> RoundFace | None:
    """The least-squares face through weighed points, begun at one; None if there is none.

    Source
    ------
    Orthogonal distance regression by Gauss-Newton.
    """
    if len(points) < 6:
        return None
    root = np.sqrt(weights)
    with np.errstate(all="ignore"):
        for _ in range(ROUNDS):
            face, step = _stepped(points, root, face)
            if not np.isfinite(step) or step < 1e-12 * max(1.0, face.radius):
                break
    reach = float(np.ptp(points, axis=0).max())
    sound = np.isfinite([*face.at, *face.along, face.radius, face.slope]).all() and abs(face.slope) < STEEP
    return face if sound and 1e-3 < face.radius < 1e3 * max(reach, 1e-9) else None


def settled(points: ndarray, weights: ndarray, face: RoundFace) -> RoundFace:
    """The face that most of the points lie on, whatever the others say.

    Rims of a drawing's faces lie some micrometres off where they do not quite meet. Begun from all
    points, and from those of each half alone; the one that leaves the least is taken.

    Source
    ------
    M-estimate with Cauchy's weights, iteratively reweighted least squares.
    """
    middle = _away(face, points)
    sides = [
        points @ way - np.median(points @ way) for way in (face.along, middle, np.cross(face.along, middle))
    ]
    starts = [weights, *(weights * chosen for side in sides for chosen in (side < 0, side >= 0))]
    faces = [face, *(_settling(points, weights, _turned(points, start, face)) for start in starts)]
    sound = [made for made in faces if np.isfinite([*made.at, *made.along, made.radius, made.slope]).all()]
    scale = _scale(off(face, points))
    return min(sound, key=lambda made: float((weights * np.log1p((off(made, points) / scale) ** 2)).sum()))


def rounded(points: ndarray, weights: ndarray, face: RoundFace) -> RoundFace:
    """Of an arc, the cylinder of a round diameter that the points bear about as well; else the same.

    Rims of fillets are splines some micrometres off, and an arc that is short turns that into several of
    radius. Round is a multiple of 0.1 mm or of 0.005 inch.
    """
    loose = _spread(points, weights, face)
    tried = list[tuple[float, RoundFace]]()
    diameters = [round(2 * face.radius / step) * step for step in ROUND_MM]
    at_hand = [diameter for diameter in diameters if abs(diameter - 2 * face.radius) < ON_THE_SPOT]
    for diameter in at_hand or diameters:
        if diameter <= 0 or abs(diameter - 2 * face.radius) > MOST_ROUNDED:
            continue
        made = face._replace(radius=diameter / 2)
        for _ in range(ROUNDS):
            made, moved = _stepped(points, np.sqrt(weights), made, held=True)
            if not np.isfinite(moved) or moved < 1e-9:
                break
        tried.append((_spread(points, weights, made), made))
    best = min(tried, key=lambda one: one[0], default=(np.inf, face))
    return best[1] if best[0] <= BORNE * loose + LEAST_OFF else face


def _spread(points: ndarray, weights: ndarray, face: RoundFace) -> float:
    return float(np.sqrt(np.average(off(face, points) ** 2, weights=weights)))


def _away(face: RoundFace, points: ndarray) -> ndarray:
    """From the axis to the middle of an arc; any way across of a whole turn."""
    q = points.mean(axis=0) - face.at
    q = q - (q @ face.along) * face.along
    length = float(np.linalg.norm(q))
    return np.asarray(q / length if length > 1e-6 * face.radius else lookup.across(face.along)[0])


def _turned(points: ndarray, weights: ndarray, face: RoundFace) -> RoundFace:
    """A face fitted to some of the points, as much as they say of it."""
    root = np.sqrt(weights)
    for _ in range(3):
        face, _ = _stepped(points, root, face)
    return face


def _settling(points: ndarray, weights: ndarray, face: RoundFace) -> RoundFace:
    scale = _scale(off(face, points))
    for _ in range(ROUNDS):
        own = weights / (1 + (off(face, points) / scale) ** 2)
        face, step = _stepped(points, np.sqrt(own), face)
        if not np.isfinite(step) or step < 1e-9:
            break
    return face


def _scale(off_mm: ndarray) -> float:
    return LEAST_OFF + 0.3 * float(np.percentile(np.abs(off_mm), 25))


def _stepped(
    points: ndarray, root: ndarray, face: RoundFace, *, held: bool = False
) -> tuple[RoundFace, float]:
    """One step of Gauss-Newton, and how far it went; `root` are roots of weights, `held` holds the radius."""
    q = points - face.at
    if face.kind == "sphere":
        r = np.maximum(np.linalg.norm(q, axis=1), 1e-12)
        rows, wrong = np.column_stack([q / r[:, None], np.ones(len(r))]), r - face.radius
        step = np.linalg.lstsq(rows * root[:, None], wrong * root, rcond=1e-9)[0]
        return face._replace(at=face.at + step[:3], radius=face.radius + float(step[3])), _most(step)
    x, y = lookup.across(face.along)
    u, v, h = q @ x, q @ y, q @ face.along
    r = np.maximum(np.hypot(u, v), 1e-12)
    cos, sin, lean = u / r, v / r, h + r * face.slope
    columns = [cos, sin, lean * cos, lean * sin, np.ones(len(r)), h]
    rows = np.stack(columns[: 6 if face.kind == "cone" else 5 - held], axis=1)
    wrong = r - face.radius - face.slope * h
    step = np.linalg.lstsq(rows * root[:, None], wrong * root, rcond=1e-9)[0]
    step = np.append(step, 0.0) if held else step
    at, along = face.at + step[0] * x + step[1] * y, face.along + step[2] * x + step[3] * y
    slope = face.slope + (float(step[5]) if face.kind == "cone" else 0.0)
    along = along / max(float(np.linalg.norm(along)), 1e-300)
    return face._replace(at=at, along=along, radius=face.radius + float(step[4]), slope=slope), _most(step)


def _most(step: ndarray) -> float:
    return float(np.abs(step).max())


def off(face: RoundFace, points: ndarray) -> ndarray:
    """How far points lie outside a face, across it [mm]; shape of all but the last axis."""
    q = points - face.at
    if face.kind == "sphere":
        return np.asarray(np.linalg.norm(q, axis=-1) - face.radius)
    h = q @ face.along
    r = np.linalg.norm(q - h[..., None] * face.along, axis=-1)
    return np.asarray((r - face.radius - face.slope * h) / np.hypot(1.0, face.slope))


def near(face: RoundFace, corners: ndarray, normals: ndarray, bound: float) -> ndarray:
    """Facets with all corners on a face, that look the way it does or (normal 0) anywhere; bool (t,)."""
    close = (np.abs(off(face, corners)) < bound).all(axis=1)
    rows = np.flatnonzero(close)
    looks = np.einsum("ij,ij->i", normals[rows], _outward(face, corners[rows].mean(axis=1)))
    unsaid = ~normals[rows].any(axis=1)
    close[rows] = unsaid | ((looks if face.outward else -looks) > RADIAL)
    return np.asarray(close)


def _faced(face: RoundFace, corners: ndarray, normals: ndarray) -> RoundFace:
    """The face as pin or bore, by the way its facets look."""
    looks = np.einsum("ij,ij->i", normals, _outward(face, corners.mean(axis=1)))
    return face._replace(outward=bool(looks.sum() > 0))


def _outward(face: RoundFace, points: ndarray) -> ndarray:
    """Directions at right angles to the face, away from its axis or centre, (n, 3)."""
    q = points - face.at
    if face.kind != "sphere":
        q = q - (q @ face.along)[:, None] * face.along
    q = q / np.maximum(np.linalg.norm(q, axis=1), 1e-300)[:, None]
    return np.asarray((q - face.slope * face.along) / np.hypot(1.0, face.slope))


def _sphere(points: ndarray, normals: ndarray, corners: ndarray) -> RoundFace | None:
    middle = points.mean(axis=0)
    q = points - middle
    rows = np.column_stack([2 * q, np.ones(len(q))])
    solved, _, rank, _ = np.linalg.lstsq(rows, (q**2).sum(axis=1), rcond=1e-6)
    squared = float(solved[3] + solved[:3] @ solved[:3])
    if rank < 4 or squared <= 0:
        return None
    along = np.array([0.0, 0.0, 1.0])
    face = RoundFace(
        "sphere", middle + solved[:3], along, float(np.sqrt(squared)), 0.0, True, np.empty(0, np.int64)
    )
    return _faced(face, corners, normals)


def _cone(corners: ndarray, normals: ndarray, axis: ndarray) -> RoundFace | None:
    """Planes of facets meet in the apex; the angle of their normals to the axis gives the slope."""
    heights = np.einsum("ij,ij->i", normals, corners.mean(axis=1))
    apex, _, rank, _ = np.linalg.lstsq(normals, heights, rcond=1e-6)
    sine = float((normals @ axis).mean())
    if rank < 3 or not 1e-3 < abs(sine) < 0.999:
        return None
    middle = corners.reshape(-1, 3).mean(axis=0)
    along = axis if (middle - apex) @ axis > 0 else -axis  # away from the apex, so that it widens
    sine = float((normals @ along).mean())
    slope = abs(sine) / np.sqrt(1 - sine * sine)
    height = float((middle - apex) @ along)
    face = RoundFace(
        "cone", apex + height * along, along, slope * height, slope, sine < 0, np.empty(0, np.int64)
    )
    return face if height > 0 else None
