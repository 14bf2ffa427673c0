"""Cover of outlines that no segments describe: moved by the bleed, or shared with a section below.

Such a section is drawn on a lattice several times as fine, whose rows and columns then stand for heights and
places within each drop's cell.
"""

from __future__ import annotations

import numpy as np

from sagger.compiled import kernel
from sagger.geometry.raster import trace
from sagger.geometry.raster.cells import OutlineCells, laid_out
from sagger.geometry.raster.drawing import DropLattice, Scratch, Section, crossings, edges
from sagger.geometry.raster.offset import offset
from sagger.geometry.raster.runs import Runs, frozen

SPLIT = {1: 4, 2: 8, 4: 16}  # by bits a drop: an edge along a row is off by half a split, under half a level


def finer(section: Section, distance_mm: float, lattice: DropLattice, split: int, scratch: Scratch) -> Runs:
    """Runs on a lattice `split` times as fine both ways, of a section grown or shrunk.

    Parameters
    ----------
    section : Section
        From `cut_and_place`, in drops of `lattice`.
    distance_mm : float
        How far outlines move outward [mm].
    lattice : Lattice
        Where drops can fall.
    split : int
        Parts of a drop's cell along x and along y.
    scratch : Scratch
        Buffers of this thread.
    """
    scaled = section._replace(segments=section.segments[: section.used] * split)
    columns, rows = lattice.columns * split, lattice.rows * split
    if distance_mm:
        pitch_mm = (lattice.pitch_mm[0] / split, lattice.pitch_mm[1] / split)
        runs = offset(scaled, distance_mm, DropLattice(columns, rows, pitch_mm), scratch)
        return frozen(columns, rows, runs.start, runs.at)
    outline = edges(scaled, rows, scratch)
    first, held, keys, total = crossings(outline, outline.change, columns, scratch)
    start, at = np.empty(rows + 1, np.int32), np.empty(total, np.int32)
    n, _ = trace.wind(first, held, keys, start, at)
    return frozen(columns, rows, start, at[:n])


def cells_of_runs(fine: Runs, lattice: DropLattice, split: int, scratch: Scratch) -> OutlineCells:
    """As `cells_of`, of runs on the finer lattice: an end of a run adds height and what lies right of it."""
    start = scratch.exact("cell start", lattice.rows + 1, np.int64)
    start[:] = fine.start[::split]
    cells = scratch.take("cells", (fine.at.size, 3), np.float32)
    _list_ends(fine.start, fine.at, split, cells)
    return laid_out(start, cells, lattice.columns, scratch)._replace(edges_along=True)


@kernel
def _list_ends(start, at, split, cells):  # type: ignore[no-untyped-def]
    for r in range(start.size - 1):
        height = 1.0 / split
        for n in range(start[r], start[r + 1]):
            column = at[n] // split
            cells[n, 0], cells[n, 2] = column, height
            cells[n, 1] = height * (split - (at[n] - column * split)) / split
            height = -height  # gained where a run begins, lost where it ends
