"""Lines of the drawing read from a scan: their faces fitted in it, and the values that these faces give."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray
from scipy.spatial import cKDTree

from sagger.geometry.surface import laying, mesh
from sagger.goods import balloon
from sagger.goods.balloon import Balloon
from sagger.goods.drawing import ExactFace
from sagger.goods.drawn_feature import DrawnFeature
from sagger.goods.part import Part
from sagger.goods.reading import Instrument
from sagger.goods.scanned import Scanned
from sagger.goods.shape import Shape
from sagger.tick import Tick, silent

SAMPLES = 200_000  # places spread over the scan, and as many corners of it
GROUND = 300_000  # places on the part as it should be: to the nearest a place of the scan belongs
FAR_MM = 1.5  # from where a face should be: what lies farther off belongs to nothing
ON_MM, ON_SHARE = (
    0.05,
    0.02,
)  # so near a face, or within this share of its radius, a place of the part is on it
ALIKE, ROUND_ALIKE = (
    0.998,
    0.7,
)  # cosine between normals: of a flat face and the part's, of a bore and the scan's
NEAR = 100  # places of the scan by which a plane's place is told
FEW = 24  # places without which a face is not told
LEAST_TURN = np.pi  # of a bore, else its radius is a guess by a scan
TOGETHER = 4.0  # places of a scan that err together; common practice, no source
LOBES = 4  # of roundness that are told
ROUNDS, CUT = 8, 5.0  # of a fit; robust standard deviations, beyond which a place is dirt or an edge
GAP = np.pi / 4  # between places round an axis: a wider one is open
SIZES = ("each", "least", "most")


class ScannedLine(NamedTuple):
    """What a scan says of one feature; several values are the least and the greatest local size."""

    number: Balloon
    values: tuple[float, ...]  # in the unit of the line; none where it is not told
    u: float  # standard uncertainty of each, the scanner's scale and zero left out
    lever: float  # by which a wrong scale of the scanner moves it [mm], angles [deg] nothing
    why: str  # it is not told


class FaceMoves(NamedTuple):
    """How far places of one face lie outward of where they should [mm]."""

    out: ndarray  # float64 (n,)
    covariance: ndarray  # float64 (n, n)


class Cloud(NamedTuple):
    """A laid scan as places with normals."""

    points: ndarray  # float64 (n, 3)
    normals: ndarray  # float64 (n, 3)
    feet: ndarray  # float64 (n, 3): the nearest places of the part as it should be
    foot_normals: ndarray  # float64 (n, 3)
    near: cKDTree


def lines_in_scan(
    scan: Shape,
    laid: Scanned,
    part: Part,
    turned: ndarray,
    scanner: Instrument,
    *,
    tick: Tick = silent,
) -> tuple[ScannedLine, ...]:
    """Each feature of the drawing by a scan, in the order of the drawing.

    Parameters
    ----------
    scan : Shape
        As it was read; `laid` tells how it lies on the part.
    part : Part
        With its drawing; its axes are turned to those of the laid scan by `turned`, float64 (3, 3).
    scanner : Instrument
        `u` of one point [m].

    Source
    ------
    Planes by local least squares, bores and pins by least squares of radius, axis and lobes up to the fourth;
    values by the linear forms that the promise uses.
    """
    body = mesh.mapped(scan, laid.turn)
    body = Shape(vertices=body.vertices + laid.shift_mm, triangles=body.triangles)
    asked = Shape(vertices=part.shape.vertices @ turned.T, triangles=part.shape.triangles)
    on = _ground(asked)
    clouds = _cloud(*laying.sampled(body, SAMPLES, seed=3), on), _cloud(*_corners(body), on)
    faces = {face.number: face for face in part.drawing.faces} if part.drawing else {}
    pairs = list(zip(balloon.balloons(part.asked), part.asked, strict=True))
    lines = []
    for number, one in tick.over(pairs, "fitting faces of the drawing"):
        moved = _moved(one, faces, turned, clouds, scanner.u * 1e3)
        lines.append(_line(number, one, moved))
    return tuple(lines)


def _line(number: Balloon, one: DrawnFeature, moved: FaceMoves | str) -> ScannedLine:
    if isinstance(moved, str):
        return ScannedLine(number, (), 0.0, 0.0, moved)
    rows = one.weights @ moved.out
    spread = np.sqrt(np.einsum("rn,nm,rm->r", one.weights, moved.covariance, one.weights))
    levers = np.abs(one.weights @ (one.normals * one.points).sum(axis=1)) * (one.unit == "mm")
    low, high = int(np.argmin(rows)), int(np.argmax(rows))
    if one.rule in SIZES:
        picked = {"each": (low, high) if len(rows) > 1 else (low,), "least": (low,), "most": (high,)}[
            one.rule
        ]
        values = tuple(one.nominal + float(rows[at]) for at in picked)
        return ScannedLine(number, values, float(spread[high]), float(levers[high]), "")
    if one.rule == "range":
        u = float(np.hypot(spread[low], spread[high]))
        return ScannedLine(number, (float(rows[high] - rows[low]),), u, float(levers[[low, high]].max()), "")
    if one.rule == "zone":
        at = int(np.argmax(np.abs(rows)))
        return ScannedLine(
            number, (2 * abs(float(rows[at])),), 2 * float(spread[at]), 2 * float(levers[at]), ""
        )
    far = np.linalg.norm(rows.reshape(-1, 2), axis=1)
    at = 2 * int(np.argmax(far))
    both = slice(at, at + 2)
    u, lever = 2 * float(spread[both].max()), 2 * float(levers[both].max())
    return ScannedLine(number, (2 * float(far.max()),), u, lever, "")


def _moved(
    one: DrawnFeature,
    faces: dict[int, ExactFace],
    turned: ndarray,
    clouds: tuple[Cloud, Cloud],
    u_mm: float,
) -> FaceMoves | str:
    """Places of all its faces, or why one of them is not told."""
    points, normals = one.points @ turned.T, one.normals @ turned.T
    out, covariance = np.zeros(len(points)), np.zeros((len(points), len(points)))
    for number in np.unique(one.faces).tolist():
        rows = np.flatnonzero(one.faces == number)
        face = faces.get(number)
        if face is not None and face.kind == "cylinder":
            at, along = turned @ np.array(face.at_mm), turned @ np.array(face.along)
            axis = (at, along / np.linalg.norm(along), face.radius_mm)
            moves = _of_round(points[rows], normals[rows], axis, clouds[1], u_mm)
        else:
            moves = _of_flat(points[rows], normals[rows], clouds[0], u_mm)
        if moves is None:
            return "too little of a face of it was scanned"
        out[rows] = moves.out
        covariance[np.ix_(rows, rows)] = moves.covariance
    return FaceMoves(out, covariance)


def _of_flat(points: ndarray, normals: ndarray, cloud: Cloud, u_mm: float) -> FaceMoves | None:
    """Each place by a plane through the nearest places of the scan that face as it does."""
    out, doubt = np.zeros(len(points)), np.zeros(len(points))
    near = cloud.near.query(points, k=4 * NEAR)[1]
    for n, (point, normal) in enumerate(zip(points, normals, strict=True)):
        belongs = cloud.foot_normals[near[n]] @ normal > ALIKE
        belongs &= np.abs((cloud.feet[near[n]] - point) @ normal) < ON_MM
        belongs &= np.abs((cloud.points[near[n]] - point) @ normal) < FAR_MM
        own = near[n][belongs][:NEAR]
        if len(own) < FEW:
            return None
        q = cloud.points[own] - point
        across = np.linalg.svd(normal[None])[2][1:]
        table = np.column_stack([np.ones(len(own)), q @ across.T])
        solved = np.linalg.pinv(table, rcond=1e-3)
        heights = q @ normal
        left = heights - table @ (solved @ heights)
        out[n] = float(solved[0] @ heights)
        scatter = max(float(left.std(ddof=3)), u_mm)
        doubt[n] = scatter * np.sqrt(TOGETHER) * float(np.linalg.norm(solved[0]))
    return FaceMoves(out, np.diag(doubt**2))


def _of_round(
    points: ndarray, normals: ndarray, axis: tuple[ndarray, ndarray, float], cloud: Cloud, u_mm: float
) -> FaceMoves | None:
    """Each place by radius, axis and lobes through the corners of the scan on a bore or pin."""
    at, along, radius = axis
    x = np.cross(along, np.eye(3)[int(np.argmin(np.abs(along)))])
    x = x / np.linalg.norm(x)
    frame = np.stack([x, np.cross(along, x), along])
    own, asked = (points - at) @ frame.T, (cloud.points - at) @ frame.T
    side = float(np.sign(((normals @ frame.T)[:, :2] * own[:, :2]).sum()))  # -1 for a bore
    feet = (cloud.feet - at) @ frame.T
    on = _on_round(feet, radius, own[:, 2])
    outward = side * (cloud.normals @ frame.T * asked)[:, :2].sum(axis=1)
    on &= outward > ROUND_ALIKE * np.hypot(asked[:, 0], asked[:, 1])
    middle = float(own[:, 2].min() + own[:, 2].max()) / 2
    seen = _belonging(asked[on], radius, middle)
    if seen is None:
        return None
    table, off = _lobes(seen, middle), np.hypot(seen[:, 0], seen[:, 1]) - radius
    solved = np.linalg.pinv(table, rcond=1e-6)
    left = off - table @ (solved @ off)
    scatter = max(float(np.sqrt((left**2).sum() / max(1, len(off) - table.shape[1]))), u_mm)
    gain = _lobes(own, middle) @ solved
    return FaceMoves(side * (gain @ off), TOGETHER * scatter**2 * gain @ gain.T)


def _on_round(feet: ndarray, radius: float, heights: ndarray) -> ndarray:
    """Which places of the part lie on a cylinder, between its ends."""
    off = np.abs(np.hypot(feet[:, 0], feet[:, 1]) - radius)
    between = (feet[:, 2] > heights.min() - ON_MM) & (feet[:, 2] < heights.max() + ON_MM)
    return np.asarray((off < ON_MM + ON_SHARE * radius) & between)


def _belonging(seen: ndarray, radius: float, middle: float) -> ndarray | None:
    """Places without those that lie far off what the others say; None where too few are left of a round."""
    for _ in range(ROUNDS):
        if len(seen) < FEW or _turn(np.arctan2(seen[:, 1], seen[:, 0])) < LEAST_TURN:
            return None
        table, off = _lobes(seen, middle), np.hypot(seen[:, 0], seen[:, 1]) - radius
        left = np.abs(off - table @ np.linalg.lstsq(table, off, rcond=1e-6)[0])
        belongs = left <= CUT * 1.4826 * np.median(left) + 1e-9
        if belongs.all():
            break
        seen = seen[belongs]
    return seen


def _lobes(q: ndarray, middle: float) -> ndarray:
    """Radius, axis at both ends, and lobes; float64 (n, 5 + 2 (LOBES - 1))."""
    angle, z = np.arctan2(q[:, 1], q[:, 0]), q[:, 2] - middle
    cos, sin = np.cos(angle), np.sin(angle)
    lobes = [wave(n * angle) for n in range(2, LOBES + 1) for wave in (np.cos, np.sin)]
    return np.column_stack([np.ones(len(q)), cos, sin, z * cos, z * sin, *lobes])


def _turn(angles: ndarray) -> float:
    """How much of a round places leave no wide gap in [rad]."""
    ordered = np.sort(angles)
    gaps = np.diff(np.append(ordered, ordered[0] + 2 * np.pi))
    return float(2 * np.pi - gaps[gaps > GAP].sum())


def _corners(body: Shape) -> tuple[ndarray, ndarray]:
    """Corners of the scan by triangle, with the normal of that triangle: they lie on the surface itself."""
    vectors = mesh.area_vectors(body)
    normals = vectors / np.maximum(np.linalg.norm(vectors, axis=1), 1e-300)[:, None]
    corners, of = mesh.corners(body).reshape(-1, 3), np.repeat(np.arange(len(normals)), 3)
    picked = np.random.default_rng(4).permutation(len(corners))[:SAMPLES]
    return corners[picked], normals[of[picked]]


def _ground(asked: Shape) -> laying.Ground:
    points, normals = laying.sampled(asked, GROUND, seed=5)
    return laying.Ground(points, normals, cKDTree(points))


def _cloud(points: ndarray, normals: ndarray, on: laying.Ground) -> Cloud:
    near = on.nearest.query(points)[1]
    return Cloud(points, normals, on.points[near], on.normals[near], cKDTree(points))
