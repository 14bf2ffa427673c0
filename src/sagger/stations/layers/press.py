"""A stack made ready for drawing: its meshes indexed once, used for every layer."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from sagger.errors import StopError
from sagger.geometry import raster
from sagger.goods.good import digest
from sagger.goods.stack import Stack, Style, Treatment

# Powers of the plastic number's inverse: the two-dimensional sequence that covers a square most evenly.
# Source: R-sequence, Roberts 2018, "The unreasonable effectiveness of quasirandom sequences".
_PLASTIC = 1.32471795724474602596


class Batch(NamedTuple):
    """Pieces that are treated alike."""

    treatment: Treatment
    scene: raster.Scene


class ReadyStack(NamedTuple):
    """What drawing needs; made by `press`, read by any number of threads."""

    stack: Stack
    style: Style
    batches: tuple[Batch, ...]


def press(stack: Stack) -> ReadyStack:
    """The stack's pieces, indexed by height.

    Copies of a part in one attitude (also when turned about z) share mesh and index, and share the cut where
    they lie at the same height.

    Raises
    ------
    StopError
        If there is not one treatment per part, or one of them cannot be drawn.
    """
    style, layout = stack.style, stack.layout
    by_part = _by_part(style, len(layout.greens))
    for treatment in style.treatments:
        _check(treatment, style.bits)
    meshes = [(green.shape.vertices, green.shape.triangles) for green in layout.greens]
    alike: dict[str, tuple[Treatment, list[tuple[int, np.ndarray]]]] = {}
    for piece in layout.pieces:
        treatment = by_part[piece.part]
        _, copies = alike.setdefault(digest(treatment), (treatment, []))
        copies.append((piece.part, np.asarray(piece.placement, np.float64)))
    batches = tuple(
        # Slabs of half a layer list few triangles that a plane misses.
        Batch(treatment, raster.scene(meshes, copies, stack.pitch_mm, stack.layer_mm / 2))
        for treatment, copies in alike.values()
    )
    return ReadyStack(stack, style, batches)


def plane(stack: Stack, k: int) -> int:
    """Height at which layer k is cut: its middle [nm]."""
    return round((k + 0.5) * stack.layer_mm * 1e6)


def phase(stack: Stack, k: int) -> tuple[float, float]:
    """Shift of layer k's sampling points along x and y [drops], within half a drop; none without jitter."""
    if not stack.jitter:
        return 0.0, 0.0
    return (0.5 + k / _PLASTIC) % 1 - 0.5, (0.5 + k / _PLASTIC**2) % 1 - 0.5


def _by_part(style: Style, parts: int) -> tuple[Treatment, ...]:
    if len(style.treatments) == 1:
        return style.treatments * parts
    if len(style.treatments) != parts:
        counts = f"{len(style.treatments)} treatments for {parts} parts"
        raise StopError(f"{counts}; give one for each part, or one for all")
    return style.treatments


def _check(treatment: Treatment, bits: int) -> None:
    if bits not in (1, 2, 4):
        raise StopError(f"a drop has 1, 2 or 4 bits, got {bits}; check the head card")
    for name in ("skin", "core"):
        share = getattr(treatment, name)
        if not 0 < share <= 1:
            raise StopError(f"saturation of the {name} must lie above 0 and up to 1, got {share:g}")
