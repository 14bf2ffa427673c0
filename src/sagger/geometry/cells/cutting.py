"""A shape cut into cells, with volume, centre and covariance of the material in each [mm].

Columns of samples run along z and meet the surface exactly; along x and y they stand on a sheared lattice in
which no two of a cell share x or y, so that faces along the axes are resolved to a 36th of a cell.
"""

from __future__ import annotations

from math import ceil, floor
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.compiled import kernel
from sagger.errors import InputError
from sagger.geometry.cells.cell_pieces import SAMPLES, Crossings, Moments, central, inside, label, sums
from sagger.goods.cells import Cells
from sagger.goods.shape import Shape

HAIR = (1.3e-7, 2.9e-7)  # of a cell: keeps columns off edges that lie on the lattice
MOST_CELLS = 60_000_000  # of the grid, empty ones included
FULL = 1 - 1e-6


class ColumnLattice(NamedTuple):
    """Where columns stand."""

    x: float  # lower corner [mm]
    y: float
    step: float  # between columns [mm]
    nx: int  # columns
    ny: int
    sheared: bool


def cells(shape: Shape, pitch_mm: float, shift: tuple[float, float, float] = (0.3, 0.3, 0.0)) -> Cells:
    """The shape in cells of a regular grid.

    Parameters
    ----------
    shape : Shape
        A closed surface.
    pitch_mm : float
        Edge of a cell.
    shift : tuple of 3 float
        How far the shape's lower corner lies inside the first cell, in cells.

    Raises
    ------
    InputError
        If the grid would be larger than 60 million cells, or the shape has no triangles.
    """
    corners = shape.vertices[shape.triangles]
    if not len(corners):
        raise InputError("a shape without triangles has no cells", remedy="Look at the part file.")
    origin = corners.min(axis=(0, 1)) - np.array(shift) * pitch_mm
    size = (corners.max(axis=(0, 1)) - origin) / pitch_mm
    counts = tuple(max(1, ceil(side - 1e-9)) for side in size)
    if float(np.prod(size + 1)) > MOST_CELLS:
        raise InputError(
            f"a grid of {pitch_mm:g} mm is too fine for this part", remedy="Choose a coarser one."
        )
    straight = _columns(corners, origin, pitch_mm, counts, False)
    sheared = _columns(corners, origin, pitch_mm, counts, True)
    filled = np.zeros(counts)
    _fill(sheared, filled)
    full = filled > FULL
    cut = np.argwhere((filled > 1e-6) & ~full).astype(np.int32)
    labels = np.zeros((len(cut), SAMPLES, SAMPLES, SAMPLES), np.uint8)
    inside(straight, counts[1], cut, labels)
    pieces = np.zeros(len(cut), np.int64)
    label(labels, pieces)
    first = np.cumsum(pieces) - pieces
    owner = np.repeat(np.arange(len(cut)), pieces)
    count = len(owner)
    moments = Moments(first, np.zeros(count), np.zeros((count, 3)), np.zeros((count, 3, 3)))
    sums(sheared, counts[1], cut, labels, moments)
    central(moments)
    odd = sum(int((np.diff(columns.starts) & 1).sum()) for columns in (straight, sheared))
    return Cells(
        pitch_mm=pitch_mm,
        origin_mm=origin,
        full=full,
        cut=cut,
        labels=labels,
        owner=np.stack([owner, np.arange(count) - first[owner] + 1], axis=1),
        share=moments.share,
        mean=moments.mean,
        spread=moments.spread,
        leaks=odd,
        columns=2 * (len(straight.starts) - 1),
    )


def pitch_for(shape: Shape, count: int, volume_mm3: float) -> float:
    """Edge of a cell at which a body of this volume and surface has about `count` cells [mm].

    A body of volume V and surface A meets about V / h^3 + A / (2 h^2) cells of edge h: cut ones stick out on
    average by half.
    """
    a, b, c = np.moveaxis(shape.vertices[shape.triangles], 1, 0)
    area = float(np.linalg.norm(np.cross(b - a, c - a), axis=1).sum() / 2)
    fine = np.geomspace(1e-4, 1.0, 2000) * np.cbrt(volume_mm3)
    expected = volume_mm3 / fine**3 + area / (2 * fine**2)
    return float(np.interp(-np.log(count), -np.log(expected), fine))


def _columns(
    corners: np.ndarray, origin: np.ndarray, pitch: float, counts: tuple[int, ...], sheared: bool
) -> Crossings:
    lattice = ColumnLattice(
        origin[0] + HAIR[0] * pitch,
        origin[1] + HAIR[1] * pitch,
        pitch / SAMPLES,
        counts[0] * SAMPLES,
        counts[1] * SAMPLES,
        sheared,
    )
    count = np.zeros(lattice.nx * lattice.ny, np.int64)
    nowhere = Crossings(np.zeros(len(count) + 1, np.int64), np.zeros(0))
    _cross(corners, lattice, count, nowhere)
    starts = np.concatenate([[0], np.cumsum(count)])
    crossings = Crossings(starts, np.empty(starts[-1]))
    count[:] = 0
    _cross(corners, lattice, count, crossings)
    crossings.heights[:] = (crossings.heights - origin[2]) / pitch
    _sort(crossings)
    return crossings


@kernel
def _place(lattice: ColumnLattice, i: int, j: int) -> tuple[float, float]:
    """Where column (i, j) stands [mm]."""
    u, v = 0.5, 0.5
    if lattice.sheared:
        u, v = (j % SAMPLES + 0.5) / SAMPLES, (i % SAMPLES + 0.5) / SAMPLES
    return lattice.x + (i + u) * lattice.step, lattice.y + (j + v) * lattice.step


@kernel
def _cross(corners: ndarray, lattice: ColumnLattice, count: ndarray, crossings: Crossings) -> None:
    """Count crossings of every column; write them down too if `crossings` has room."""
    for n in range(corners.shape[0]):
        a, b, c = corners[n, 0], corners[n, 1], corners[n, 2]
        det = (b[0] - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (b[1] - a[1])
        if det == 0.0:
            continue
        left, right = min(a[0], b[0], c[0]) - lattice.x, max(a[0], b[0], c[0]) - lattice.x
        near, far = min(a[1], b[1], c[1]) - lattice.y, max(a[1], b[1], c[1]) - lattice.y
        for i in range(
            max(0, floor(left / lattice.step) - 1), min(lattice.nx, floor(right / lattice.step) + 1)
        ):
            for j in range(
                max(0, floor(near / lattice.step) - 1), min(lattice.ny, floor(far / lattice.step) + 1)
            ):
                x, y = _place(lattice, i, j)
                u = ((x - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (y - a[1])) / det
                v = ((b[0] - a[0]) * (y - a[1]) - (x - a[0]) * (b[1] - a[1])) / det
                if u < 0 or v < 0 or u + v >= 1:
                    continue
                k = i * lattice.ny + j
                if crossings.heights.size > 0:
                    crossings.heights[crossings.starts[k] + count[k]] = (
                        a[2] + u * (b[2] - a[2]) + v * (c[2] - a[2])
                    )
                count[k] += 1


@kernel
def _sort(crossings: Crossings) -> None:
    for k in range(crossings.starts.size - 1):
        if crossings.starts[k + 1] - crossings.starts[k] > 1:
            crossings.heights[crossings.starts[k] : crossings.starts[k + 1]].sort()


@kernel
def _fill(crossings: Crossings, filled: ndarray) -> None:
    """Share of every cell's volume that lies inside."""
    _, ny, nz = filled.shape
    part = 1.0 / SAMPLES**2
    for k in range(crossings.starts.size - 1):
        i, j = k // (ny * SAMPLES) // SAMPLES, k % (ny * SAMPLES) // SAMPLES
        for p in range(crossings.starts[k], crossings.starts[k + 1] - 1, 2):
            low, high = crossings.heights[p], crossings.heights[p + 1]
            for m in range(max(0, floor(low)), min(nz - 1, floor(high)) + 1):
                filled[i, j, m] += part * max(0.0, min(high, m + 1.0) - max(low, m + 0.0))
