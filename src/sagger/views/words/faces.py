"""A face of a part in words: for a person, and as an order states it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy import ndarray

from sagger.geometry.surface.lookup import Fitted
from sagger.views.wording import count

AXES = ("x", "y", "z")
STRAIGHT = 1 - 1e-9  # cosine to an axis: nearer is along it
WHOLE = 0.995  # of a turn
OTHERS = {"torus": "ring-shaped face", "other": "free-form face", "cone": "cone", "sphere": "sphere"}


def stated(face: Fitted, at: ndarray) -> str:
    """A bore, pin or plane as an order states it, at a place on its axis or on itself [mm]."""
    place = ", ".join(_figure(value, 3) for value in at)
    if face.kind == "plane":
        return f"plane at {place} facing {_way(face.along, signed=True)}"
    return f"{face.kind} {_figure(face.diameter, 4)} mm at {place} along {_way(face.along, signed=False)}"


def told(face: Fitted, at: ndarray) -> str:
    """A face in words, with its facets and how far the farthest of their corners lies off."""
    place = ", ".join(_figure(value, 2) for value in at)
    facets = count(len(face.triangles), "triangle")
    off = f"farthest corner {face.off * 1e3:.1f} µm off"
    if face.kind == "plane":
        return f"plane at {place} facing {_way(face.along, signed=True)}, {facets}, {off}"
    if face.kind not in ("bore", "pin"):
        size = f" {face.diameter:.3f} mm" if face.kind == "sphere" else ""
        return f"{OTHERS.get(face.kind, face.kind)}{size} at {place}, {facets}"
    turn = "" if face.turn > WHOLE else f", {face.turn:.0%} of a turn".replace("%", " %")
    along = _way(face.along, signed=False)
    return f"{face.kind} {face.diameter:.3f} mm at {place} along {along}{turn}, {facets}, {off}"


def _figure(value: float, places: int) -> str:
    text = f"{value + 0.0:.{places}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text


def _way(along: Sequence[float] | ndarray, *, signed: bool) -> str:
    """A direction: an axis where it is one, else three numbers."""
    values = np.asarray(along, dtype=float)
    axis = int(np.argmax(np.abs(values)))
    if abs(values[axis]) > STRAIGHT:
        return ("-" if signed and values[axis] < 0 else "") + AXES[axis]
    return ", ".join(_figure(value, 6) for value in values)
