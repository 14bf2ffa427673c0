"""The nominal value of a stated size, from what is stated or from the faces themselves."""

from __future__ import annotations

import numpy as np
from numpy import ndarray

from sagger.goods.drawing import ExactFace
from sagger.goods.stated import StatedFace, StatedLine

ROUNDED = 4  # decimals of a size measured on the part file [mm, deg]
PARALLEL = 0.9998  # about 1 degree


def nominal(line: StatedLine, on: list[ExactFace], to: list[ExactFace]) -> float | None:
    """The size in mm, an angle in degrees; None where these faces have no such size.

    A stated diameter is nominal, whatever the mesh measures. Distances are between planes or axes.
    """
    first = on[0]
    if line.what in ("diameter", "radius"):
        if first.kind not in ("cylinder", "sphere"):
            return None
        diameter = line.of.diameter_mm if isinstance(line.of, StatedFace) else 2 * first.radius_mm
        return round(diameter if line.what == "diameter" else diameter / 2, ROUNDED)
    if not to:
        return None
    if line.what == "angle":
        cosine = abs(_unit(first) @ _unit(to[0]))
        return round(float(np.degrees(np.arccos(min(1.0, cosine)))), ROUNDED)
    return _distance(first, to[0])


def _distance(one: ExactFace, other: ExactFace) -> float | None:
    flat = [face for face in (one, other) if face.kind == "plane"]
    apart = np.asarray(other.at_mm) - np.asarray(one.at_mm)
    cosine = abs(_unit(one) @ _unit(other))
    if (len(flat) == 1 and cosine < np.sqrt(1 - PARALLEL**2)) or (len(flat) == 2 and cosine > PARALLEL):
        return round(abs(float(apart @ _unit(flat[0]))), ROUNDED)
    if not flat and cosine > PARALLEL:
        aside = apart - (apart @ _unit(one)) * _unit(one)
        return round(float(np.linalg.norm(aside)), ROUNDED)
    return None


def _unit(face: ExactFace) -> ndarray:
    along = np.asarray(face.along, dtype=float)
    return np.asarray(along / np.linalg.norm(along))
