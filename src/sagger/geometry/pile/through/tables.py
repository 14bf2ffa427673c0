"""How far two shapes reach into each other, for every place of one beside the other on a lattice.

The table of a pair holds, for each offset of lattice steps, the least way along one axis that takes the
shapes apart, 0 where they are apart. Shapes stand on stretches over fine columns, so nothing but the offsets
is rounded. Lengths of the lattice are mm, arrays run [y, x, z].
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from math import ceil, floor
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.compiled import checked
from sagger.geometry.pile.through.stretches import Stretches, coarser, grown, stretches

FINE = 2  # columns of a shape to a step of the lattice
_FINER = (4, 3, 2, 1)  # columns that are grown by the gap to one of those: growing widens by up to a column
_GROWING = 3e7  # steps that growing one shape may take
_A_COLUMN = 2.0  # table places that could be added up while a pair of columns is compared
_A_GROWTH = 4.0  # and during a step of growing
_FAR = 60_000  # more than any way out
_MOST = 255  # longest way out that a table tells


class Lattice(NamedTuple):
    """Steps between the places at which shapes may lie."""

    step: float  # along x and y [mm]
    rise: float  # along z [mm]


class PairTables(NamedTuple):
    """Ways out of every pair of shapes [steps of `rise`], in one row, and the sizes to find them by."""

    pool: ndarray  # uint8
    start: ndarray  # int64 (k, k): of the table of [moved, lying] in `pool`
    size: ndarray  # int64 (k, k, 3)
    origin: ndarray  # int64 (k, k, 3): where in it both have the same lower corner
    line: ndarray  # int64 (k, k): of the table's first line in `used`
    used: ndarray  # int16 (lines, 2): first and last + 1 place of each line along z that is not 0
    cells: ndarray  # int64 (k, 3): steps that a shape is long
    places: ndarray  # int64 (k, 2): places along y and x on the floor


class Shapes(NamedTuple):
    """Shapes over columns of a lattice."""

    solid: list[Stretches]
    grown: list[Stretches]  # by the gap, over `pad` more columns on every side
    pad: int
    extents: ndarray  # float64 (k, 3) along x, y and z [mm]
    lattice: Lattice
    gap_mm: float


def shapes(solids: list[ndarray], lattice: Lattice, gap_mm: float) -> Shapes:
    """Shapes over columns; `solids`: triangles of each, float64 (m, 3, 3), lower corner at the origin."""
    pitch = lattice.step / FINE
    solid = [stretches(one, pitch) for one in solids]
    extents = np.array([one.max(axis=(0, 1)) for one in solids])
    if gap_mm == 0:
        return Shapes(solid, solid, 0, extents, lattice, gap_mm)
    pad = ceil(gap_mm / pitch - 1e-6)
    wide = []
    for one, size in zip(solids, extents, strict=True):
        times = next((t for t in _FINER if _growing(size, pitch / t, gap_mm) <= _GROWING), 1)
        fine = pitch / times
        wide.append(coarser(grown(stretches(one, fine), fine, gap_mm, pad * times), times))
    return Shapes(solid, wide, pad, extents, lattice, gap_mm)


def _growing(extent: ndarray, pitch: float, gap: float) -> float:
    """Steps of growing a shape over columns of this pitch, about."""
    columns = (extent[0] / pitch + 1) * (extent[1] / pitch + 1)
    return float(columns * (2 * gap / pitch + 2) ** 2)


def pair_tables(
    shapes: Shapes, floor_mm: tuple[float, float], *, lifted: bool, threads: int = 1
) -> PairTables:
    """Tables of all pairs.

    Parameters
    ----------
    floor_mm : tuple of float
        Free length along x and y.
    lifted : bool
        Heights between the lowest and the highest at which two shapes meet count as meeting too: whatever is
        free by these tables can be lifted off the other.
    threads : int
        On which the work is spread; the tables do not depend on it.
    """
    tables = _sized(shapes, floor_mm)
    ratio = max(1, round(shapes.lattice.step / shapes.lattice.rise))

    def fill(a: int) -> None:
        for b in range(a + 1):
            size, origin = tuple(tables.size[a, b]), tables.origin[a, b]
            met = np.zeros((size[0], size[1], size[2] + 1), dtype=np.int32)
            columns = FINE, shapes.pad
            _met(shapes.solid[a], shapes.grown[b], columns, shapes.lattice.rise, origin, met)
            out = np.zeros(size, dtype=np.int32)
            _ways_out(met, ratio, lifted, out)
            short = np.minimum(out, _MOST).astype(np.uint8)
            _keep(tables, a, b, short)
            if a != b:
                _keep(tables, b, a, short[::-1, ::-1, ::-1])

    with ThreadPoolExecutor(threads) as pool:
        list(pool.map(fill, range(len(shapes.solid) - 1, -1, -1)))
    return tables


def bytes_of(extents: ndarray, lattice: Lattice, gap_mm: float) -> int:
    """Memory that tables of shapes so long, float64 (k, 3) along x, y and z [mm], take."""
    return int(_sizes(extents, lattice, gap_mm)[1].prod(axis=2).sum())


def work_of(extents: ndarray, lattice: Lattice, gap_mm: float) -> int:
    """What tables of shapes so long cost, in table places that could be added up meanwhile, about."""
    cells, size, _ = _sizes(extents, lattice, gap_mm)
    columns = cells[:, 0] * cells[:, 1] * FINE**2
    lines = size[:, :, 0] * size[:, :, 1]
    met = (lines * np.minimum(columns[:, None], columns[None])).sum() * _A_COLUMN
    growing = sum(_growing(one, lattice.step / FINE, gap_mm) for one in extents) if gap_mm else 0.0
    return int(met + _A_GROWTH * growing)


def _sizes(extents: ndarray, lattice: Lattice, gap: float) -> tuple[ndarray, ndarray, ndarray]:
    """Cells of each shape, size of each pair's table, and cells that the gap adds on a side."""
    steps = np.array([lattice.step, lattice.step, lattice.rise])
    cells = np.ceil(extents[:, [1, 0, 2]] / steps - 1e-6).astype(np.int64)
    beyond = np.ceil(gap / steps - 1e-6).astype(np.int64)
    return cells, cells[:, None] + cells[None] - 1 + 2 * beyond, beyond


def _sized(shapes: Shapes, floor_mm: tuple[float, float]) -> PairTables:
    """Empty tables of the right sizes."""
    extents = shapes.extents
    cells, size, beyond = _sizes(extents, shapes.lattice, shapes.gap_mm)
    origin = np.broadcast_to((cells - 1 + beyond)[:, None], size.shape).copy()
    whole, lines = size.prod(axis=2), size[:, :, :2].prod(axis=2)
    free = (np.array(floor_mm)[::-1] - extents[:, [1, 0]]) / shapes.lattice.step
    return PairTables(
        pool=np.zeros(int(whole.sum()), dtype=np.uint8),
        start=(np.cumsum(whole) - whole.ravel()).reshape(whole.shape),
        size=size,
        origin=origin,
        line=(np.cumsum(lines) - lines.ravel()).reshape(lines.shape),
        used=np.zeros((int(lines.sum()), 2), dtype=np.int16),
        cells=cells,
        places=np.floor(free + 1e-6).astype(np.int64) + 1,
    )


def _keep(tables: PairTables, a: int, b: int, out: ndarray) -> None:
    start, line = tables.start[a, b], tables.line[a, b]
    tables.pool[start : start + out.size] = out.ravel()
    some = out.reshape(-1, out.shape[2]) > 0
    none = ~some.any(axis=1)
    ends = np.stack((some.argmax(axis=1), out.shape[2] - some[:, ::-1].argmax(axis=1)), axis=1)
    ends[none] = 0
    tables.used[line : line + len(ends)] = ends


@checked
def _met(
    moved: Stretches, lying: Stretches, columns: tuple[int, int], rise: float, origin: ndarray, met: ndarray
) -> None:
    """How often stretches meet at each offset, as differences along z; `columns`: to a step, and of pad."""
    deep, wide, high = met.shape[0], met.shape[1], met.shape[2] - 1
    for y in range(deep):
        ty = (y - origin[0]) * columns[0] + columns[1]
        for x in range(wide):
            tx = (x - origin[1]) * columns[0] + columns[1]
            line = met[y, x]
            for j in range(max(0, -ty), min(moved.ny, lying.ny - ty)):
                for i in range(max(0, -tx), min(moved.nx, lying.nx - tx)):
                    a, b = j * moved.nx + i, (j + ty) * lying.nx + i + tx
                    for p in range(moved.first[a], moved.first[a + 1]):
                        for q in range(lying.first[b], lying.first[b + 1]):
                            k = floor((lying.low[q] - moved.high[p]) / rise + 1e-6) + 1 + origin[2]
                            m = ceil((lying.high[q] - moved.low[p]) / rise - 1e-6) + origin[2]
                            if m > k:
                                line[max(k, 0)] += 1
                                line[min(m, high)] -= 1


@checked
def _ways_out(met: ndarray, ratio: int, lifted: bool, far: ndarray) -> None:
    """Least way out along an axis at each offset; a step along x or y counts as `ratio`."""
    deep, wide = far.shape[:2]
    for y in range(deep):
        for x in range(wide):
            _along_z(met[y, x], lifted, far[y, x])
    for y in range(deep):
        _aside(far[y], ratio)
        _aside(far[y, ::-1], ratio)
    for x in range(wide):
        _aside(far[:, x], ratio)
        _aside(far[::-1, x], ratio)


@checked
def _along_z(met: ndarray, lifted: bool, far: ndarray) -> None:
    """Way out up or down along one line."""
    high, total = far.shape[0], 0
    first, last = high, -1
    for z in range(high):
        total += met[z]
        if total > 0:
            far[z] = _FAR
            first, last = min(first, z), z
    if lifted:
        far[first : last + 1] = _FAR
    run = 0
    for z in range(high):
        run = run + 1 if far[z] > 0 else 0
        far[z] = min(far[z], run)
    run = 0
    for z in range(high - 1, -1, -1):
        run = run + 1 if far[z] > 0 else 0
        far[z] = min(far[z], run)


@checked
def _aside(far: ndarray, ratio: int) -> None:
    """Shorten the ways of a row of lines by those that lead aside, towards the row's beginning."""
    run = np.zeros(far.shape[1], np.int32)
    for k in range(far.shape[0]):
        for z in range(far.shape[1]):
            run[z] = run[z] + ratio if far[k, z] > 0 else 0
            far[k, z] = min(far[k, z], run[z])
