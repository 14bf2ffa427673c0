"""What is said of a part that met itself in the furnace."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy import ndarray

from sagger.geometry.cells import warp
from sagger.geometry.surface import mesh
from sagger.goods.finding import Against, Finding, risk, stop
from sagger.goods.shape import Shape

TOUCHED = 0.25  # cells by which a surface may lie inside itself before that is told


def resting(borne: ndarray, places: ndarray) -> Iterator[Finding]:
    """Where it rests on itself: forces (s,) [N] that samples of the surface bore, and their places [mm]."""
    if not borne.any():
        return
    x, y, z = (float(each) for each in places[int(np.argmax(borne))])
    yield risk(
        "rests on itself",
        f"One part of it sags onto another and comes to rest there, hardest at ({x:.1f}, {y:.1f}, "
        f"{z:.1f}) mm on the setter. It is taken to slide there without friction; it may well sinter "
        "together.",
        Against(source="geometry"),
        "Widen the gap, support what hangs above it, or put a parting wash into the gap.",
        at_mm=(x, y, z),
    )


def through(before: Shape, points: ndarray, pitch: float) -> Iterator[Finding]:
    """Whether parts of the surface have moved through one another; cells are `pitch` wide [mm]."""
    allowed = warp.overlap(before, pitch / 3).depth_mm + TOUCHED * pitch
    overlap = warp.overlap(mesh.shape(points, before.triangles), pitch / 3)
    if overlap.depth_mm <= allowed:
        return
    x, y, z = (float(each) for each in overlap.at_mm)
    yield stop(
        "touches itself",
        f"One part of it sags onto another and {overlap.depth_mm:.2f} mm into it at ({x:.1f}, "
        f"{y:.1f}, {z:.1f}) mm on the setter: it would rest and weld there sooner than was computed.",
        Against(overlap.depth_mm, allowed, "mm", "geometry"),
        "Widen the gap, support what hangs above it, or turn the part.",
        at_mm=(x, y, z),
    )
