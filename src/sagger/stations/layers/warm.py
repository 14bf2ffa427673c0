"""Kernels compiled before the first job needs them."""

from __future__ import annotations

import numpy as np

from sagger.geometry import raster
from sagger.geometry.raster import algebra, cover, halftone
from sagger.geometry.raster.cells import cells_of
from sagger.geometry.raster.drawing import DropLattice, cut_and_place
from sagger.geometry.raster.fine import cells_of_runs, finer
from sagger.geometry.raster.offset import offset
from sagger.geometry.raster.sizes import sizes


def warm() -> None:
    """Compile every kernel of this room by drawing a small tetrahedron, whole and broken, in every style.

    Takes some seconds the first time on a machine and a fraction of a second once the compiled code is kept;
    call it at install, or in the background when the bench opens.
    """
    corners = np.array([[0, 0, 0], [2, 0, 0], [0, 2, 0], [0, 0, 2]], float)
    faces = np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [2, 0, 3]], np.int32)
    lattice, scratch = DropLattice(24, 24, (0.1, 0.1)), raster.Scratch()
    for triangles in (faces, faces[:3]):
        scene = raster.scene([(corners, triangles)], [(0, np.eye(4))], lattice.pitch_mm, 0.1)
        drops = raster.draw(scene, 1_050_000, (0.0, 0.0), 24, 24, scratch).runs
        section = cut_and_place(scene, 1_050_000, (0.0, 0.0), scratch)
        offset(section, -0.05, lattice, scratch)
        tone = cover.Tone(2, 1.0, 0.5, 0)
        grey = cover.levels(cells_of(section, lattice, scratch), drops, tone, lattice, scratch)
        for bleed_mm in (0.0, 0.05):
            fine = finer(section, -bleed_mm, lattice, 8, scratch)
            cover.levels(cells_of_runs(fine, lattice, 8, scratch), drops, tone, lattice, scratch)
        sizes(grey, 2)
        cover.volume(grey, 2)
        algebra.without(drops, algebra.eroded(drops, 0.2, lattice.pitch_mm))
        halftone.filled([(drops, 0.5)], 0)
        halftone.held(drops, 0.5, 0)
        raster.count(drops)
        raster.bitmap(drops)
