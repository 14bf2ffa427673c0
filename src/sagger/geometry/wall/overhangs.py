"""What hangs free above a setter, and from what: spans and overhangs of a shape, as beams [mm].

Every stretch of material that does not stand on the setter hangs. From each, along four directions, the
stretches it touches are walked both ways until one holds (it stands, or hangs from what stands) or none is
left (a free end). What stands holds first; then, round after round, what is held already holds the rest.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.compiled import checked
from sagger.geometry.wall.storeys import Storeys

STANDS_MM = 0.05  # a stretch that begins lower than this stands on the setter
SLIVER = 0.1  # of a cell: what touches by less is a slip of the grid
ROUNDS_MOST = 12
STEPS = np.array([(1, 0), (0, 1), (1, 1), (1, -1)], dtype=np.int64)
_Grid = tuple[ndarray, ndarray, ndarray, ndarray, int, int, float]  # storeys, their columns, nx, ny, pitch
STRAIGHT = 2  # of these directions: the grid's own, tried before the slanting ones
FREE, HELD_ONCE, HELD_TWICE = 0, 1, 2


class Overhangs(NamedTuple):
    """Hanging stretches, each as a place on up to four beams (one per direction)."""

    stretch: ndarray  # int64 (n,): index into the storeys
    held: ndarray  # int8 (n, 4): ends that are held: FREE, HELD_ONCE, HELD_TWICE
    length: ndarray  # float64 (n, 4) of the beam [mm]
    height: ndarray  # float64 (n, 4): of the bar of even height that sags as much [mm]
    share: ndarray  # float64 (n, 4): how far along the beam, from a held end [-]
    ends: ndarray  # int64 (n, 4, 2): rows that hold the ends; -1 for what stands, and for a free end
    round: ndarray  # int64 (n,): round in which it was held, from 0; -1 never


def overhangs(above: Storeys) -> Overhangs:
    """Every hanging stretch with the beams it is part of."""
    lowest = (
        float(above.bottom.min()) if len(above.bottom) else 0.0
    )  # above 0 where what touches is narrower than a cell
    hanging = np.flatnonzero(above.bottom > lowest + STANDS_MM)
    number = np.full(len(above.bottom), -1, dtype=np.int64)
    number[hanging] = np.arange(len(hanging))
    column = np.repeat(np.arange(above.nx * above.ny), np.diff(above.first))
    held, ends = np.zeros((len(hanging), 4), dtype=np.int8), np.full((len(hanging), 4, 2), -1)
    length, height, share = (np.zeros((len(hanging), 4)) for _ in range(3))
    rounds, loose = np.full(len(hanging), -1), number >= 0
    grid = (above.first, above.bottom, above.top, column, above.nx, above.ny, above.pitch_mm)
    for turn in range(ROUNDS_MOST):
        rows = np.flatnonzero(loose[hanging])
        for direction in range(4):
            beams = (held[:, direction], length[:, direction], height[:, direction], share[:, direction])
            _beams(grid, hanging[rows], (number, loose), STEPS[direction], beams, ends[:, direction])
        caught = rows[(held[rows, :STRAIGHT] > 0).any(axis=1)]
        caught = caught if len(caught) else rows[(held[rows] > 0).any(axis=1)]
        if not len(caught):
            break
        rounds[caught], loose[hanging[caught]] = turn, False
        left = np.setdiff1d(rows, caught)
        held[left] = FREE
    return Overhangs(hanging, held, length, height, share, ends, rounds)


@checked
def _beyond(grid: _Grid, stretch: int, di: int, dj: int) -> int:
    """The stretch in the next column that this one touches most, -1 if none."""
    first, bottom, top, column, nx, ny, pitch = grid
    i, j = column[stretch] % nx + di, column[stretch] // nx + dj
    if i < 0 or j < 0 or i >= nx or j >= ny:
        return -1
    most, touched = SLIVER * pitch, -1
    for other in range(first[j * nx + i], first[j * nx + i + 1]):
        shared = min(top[stretch], top[other]) - max(bottom[stretch], bottom[other])
        if shared > most:
            most, touched = shared, other
    return touched


@checked
def _beams(
    grid: _Grid,
    starts: ndarray,
    hanging: tuple[ndarray, ndarray],
    step: ndarray,
    beams: tuple[ndarray, ndarray, ndarray, ndarray],
    ends: ndarray,
) -> None:
    """Walk each run of loose stretches in one direction from its first, and enter it for all of them."""
    pitch = grid[6]
    number, loose = hanging
    held, length, height, share = beams
    apart = pitch * np.sqrt(float(step[0] ** 2 + step[1] ** 2))
    run = np.empty(starts.size, dtype=np.int64)
    for one in range(starts.size):
        start = starts[one]
        before = _beyond(grid, start, -step[0], -step[1])
        if before >= 0 and loose[before] and _beyond(grid, before, step[0], step[1]) == start:
            continue  # not the first of its run
        count, here = 0, start
        while here >= 0 and loose[here] and count < run.size:
            run[count] = here
            count += 1
            here = _beyond(grid, here, step[0], step[1])
        first, last = before >= 0 and not loose[before], here >= 0
        if not first and not last:
            continue
        tall = _even_height(grid, run, count, first, last)
        for place in range(count):
            row = number[run[place]]
            along = (place + 0.5) / count
            held[row] = HELD_TWICE if first and last else HELD_ONCE
            length[row], height[row] = count * apart, tall
            share[row] = along if first else 1 - along
            ends[row, 0] = number[before] if first else -1
            ends[row, 1] = number[here] if last else -1


@checked
def _even_height(grid: _Grid, run: ndarray, count: int, first: bool, last: bool) -> float:
    """Height h of the even bar that sags as much: 1 / h^2 = mean height x mean of 1 / height^3.

    The mean of 1 / height^3 is weighted with the square of an even bar's bending moment: (1 - x)^4 from the
    held end, (1 - 6 x + 6 x^2)^2 between two. A place thinner than half a cell may be a slip of the grid.
    """
    _, bottom, top, _, _, _, pitch = grid
    load = 0.0
    for place in range(count):
        load += (top[run[place]] - bottom[run[place]]) / count
    least = min(pitch / 2, load / 4)
    soft, weights = 0.0, 0.0
    for place in range(count):
        x = (place + 0.5) / count
        moment = 1 - 6 * x + 6 * x * x if first and last else (1 - x if first else x) ** 2
        weight = moment * moment
        soft += weight / max(top[run[place]] - bottom[run[place]], least) ** 3
        weights += weight
    return float(1 / np.sqrt(load * soft / weights))
