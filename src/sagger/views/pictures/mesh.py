"""Triangles and places as a browser takes them: little-endian numbers without any text between."""

from __future__ import annotations

import numpy as np

from sagger.goods.layout import Layout
from sagger.goods.shape import Shape


def mesh(shape: Shape) -> bytes:
    """A shape: uint32 counts of both, float32 (n, 3) vertices [mm], uint32 (m, 3) corners of triangles."""
    counts = np.array([len(shape.vertices), len(shape.triangles)], "<u4")
    return b"".join(
        (counts.tobytes(), shape.vertices.astype("<f4").tobytes(), shape.triangles.astype("<u4").tobytes())
    )


def places(layout: Layout) -> bytes:
    """Placements of all pieces in order: float32 (n, 4, 4), each by columns, nominal part to box [mm]."""
    stacked = np.array([piece.placement for piece in layout.pieces], np.float64).reshape(-1, 4, 4)
    return stacked.transpose(0, 2, 1).astype("<f4").tobytes()
