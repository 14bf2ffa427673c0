"""Kernels compiled before the first job needs them."""

from __future__ import annotations

import numpy as np

from sagger.geometry import raster


def warm() -> None:
    """Compile every kernel of this room by drawing a small tetrahedron, whole and broken.

    Takes some seconds the first time on a machine and a fraction of a second once the compiled code is kept;
    call it at install, or in the background when the bench opens.
    """
    corners = np.array([[0, 0, 0], [2, 0, 0], [0, 2, 0], [0, 0, 2]], float)
    faces = np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [2, 0, 3]], np.int32)
    for triangles in (faces, faces[:3]):
        scene = raster.scene([(corners, triangles)], [(0, np.eye(4))], (0.1, 0.1), 0.1)
        drawn = raster.draw(scene, 1_050_000, (0.0, 0.0), 24, 24, raster.Scratch())
        raster.count(drawn.runs)
        raster.bitmap(drawn.runs)
