"""A face that an order states by size and place, found on the part, or refused with the nearest."""

from __future__ import annotations

import numpy as np

from sagger.errors import OrderError
from sagger.geometry.surface import lookup
from sagger.geometry.surface.lookup import NEAR_MM, Fitted
from sagger.goods.shape import Shape
from sagger.goods.stated import StatedFace

WRITTEN_MM = 0.05  # a diameter on a drawing is written to 0.1 mm
SAME_MM = 0.01  # places on a drawing do not tell less apart
CLEARLY = 2.0  # times farther off: then a second face is not meant
HALF = 0.45  # of a turn: with less a diameter is a guess
HINTS = (0.8, 0.9, 1.1, 1.25)  # times the stated diameter, tried for what may have been meant


def found(body: Shape, stated: StatedFace, field: str) -> Fitted:
    """The one face that fits what is stated, within 1 mm and 5 %.

    Raises
    ------
    OrderError
        If none fits, or more than one; the nearest are named.
    """
    at = np.asarray(stated.at_mm)
    along = None if stated.along is None else np.asarray(stated.along)
    if stated.kind == "plane":
        return _plane(body, at, along, field)
    fitting = _round(body, stated, stated.diameter_mm)
    exact = [face for face in fitting if abs(face.diameter - stated.diameter_mm) <= WRITTEN_MM]
    chosen = exact or fitting
    if not chosen:
        near = [face for share in HINTS for face in _round(body, stated, share * stated.diameter_mm)]
        raise _refused("no such face is there", field, near)
    if len(chosen) > 1 and _aside(chosen[1], at) <= CLEARLY * _aside(chosen[0], at) + SAME_MM:
        raise _refused("more than one face fits", field, chosen)
    if chosen[0].turn < HALF:
        raise _refused(f"only {100 * chosen[0].turn:.0f} % of a turn is there", field, chosen)
    return chosen[0]


def words(face: Fitted) -> str:
    """A face as an order would state it."""
    at, along = (
        ", ".join(f"{value:.4g}" for value in np.round(row, 3) + 0.0) for row in (face.at, face.along)
    )
    if face.kind == "plane":
        return f"plane at {at} facing {along}"
    return f"{face.kind} {face.diameter:.5g} mm at {at} along {along}"


def _round(body: Shape, stated: StatedFace, diameter: float) -> list[Fitted]:
    """Those whose axis passes near the place, nearest first."""
    at = np.asarray(stated.at_mm)
    along = None if stated.along is None else np.asarray(stated.along)
    faces = lookup.rounds(body, stated.kind, diameter, at, along)
    near = [face for face in faces if _aside(face, at) <= NEAR_MM and _beyond(body, face, at) <= NEAR_MM]
    return sorted(near, key=lambda face: _aside(face, at))


def _plane(body: Shape, at: np.ndarray, facing: np.ndarray | None, field: str) -> Fitted:
    faces = lookup.planes(body, at, facing)
    off = [lookup.apart(body, face, at) for face in faces]
    if not faces or off[0] > NEAR_MM:
        raise _refused("no such face is there", field, faces[:3])
    if len(faces) > 1 and off[1] < CLEARLY * off[0] + WRITTEN_MM / 2:
        raise _refused("more than one face fits", field, faces[:3])
    return faces[0]


def _aside(face: Fitted, at: np.ndarray) -> float:
    offset = at - face.at
    return float(np.linalg.norm(offset - (offset @ face.along) * face.along))


def _beyond(body: Shape, face: Fitted, at: np.ndarray) -> float:
    """How far a place lies beyond the ends of a face, along its axis [mm]."""
    low, high = lookup.span(body, face, face.along)
    height = float(at @ face.along)
    return max(low - height, height - high, 0.0)


def _refused(reason: str, field: str, near: list[Fitted]) -> OrderError:
    hints = dict.fromkeys(words(face) for face in near)
    remedy = (
        f"The nearest: {'; '.join(list(hints)[:3])}." if hints else "None is near; look at the part's axes."
    )
    return OrderError(reason, field=field, remedy=remedy)
