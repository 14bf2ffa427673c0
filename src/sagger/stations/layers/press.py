"""A stack made ready for drawing: its meshes indexed once, used for every layer."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from sagger.geometry import raster
from sagger.goods.stack import Stack

# Powers of the plastic number's inverse: the two-dimensional sequence that covers a square most evenly.
# Source: R-sequence, Roberts 2018, "The unreasonable effectiveness of quasirandom sequences".
_PLASTIC = 1.32471795724474602596


class Press(NamedTuple):
    """What drawing needs; made by `press`, read by any number of threads."""

    stack: Stack
    scene: raster.Scene


def press(stack: Stack) -> Press:
    """The stack's pieces, indexed by height.

    Copies of a part in one attitude (also when turned about z) share mesh and index, and share the cut where
    they lie at the same height.
    """
    layout = stack.layout
    meshes = [(green.shape.vertices, green.shape.triangles) for green in layout.greens]
    copies = [(piece.part, np.asarray(piece.placement, np.float64)) for piece in layout.pieces]
    return Press(stack, raster.scene(meshes, copies, stack.pitch_mm, stack.layer_mm / 2))


def plane(stack: Stack, k: int) -> int:
    """Height at which layer k is cut: its middle [nm]."""
    return round((k + 0.5) * stack.layer_mm * 1e6)


def phase(stack: Stack, k: int) -> tuple[float, float]:
    """Shift of layer k's sampling points along x and y [drops], within half a drop; none without jitter."""
    if not stack.jitter:
        return 0.0, 0.0
    return (0.5 + k / _PLASTIC) % 1 - 0.5, (0.5 + k / _PLASTIC**2) % 1 - 0.5
