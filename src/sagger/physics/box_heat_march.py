"""Heat through a grid of voxels over time: one direction after the other, steps of fitting length. SI."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from sagger.errors import LawError
from sagger.physics.box_heat_grid import Grid

Array = NDArray[np.float64]
Ambients = tuple[tuple[float, float], ...]  # low and high face of each axis [K]
ENDS = (0, -1)  # the low and the high face along an axis
KEPT = 3  # step lengths whose factors are kept: half, whole, and the next
GROWTH = 1 / 4  # error below this share of what is allowed: the step may double
SHORTEST = 1e-6  # [s]


class Factors(NamedTuple):
    """The three one-way systems of one step length, factored; each array has its axis in front."""

    span: float  # [s]
    carry: tuple[Array, ...]  # what a voxel takes over from the one before it [-]
    share: tuple[Array, ...]  # what a gain of heat makes of its temperature [K/J]


class Stride(NamedTuple):
    """Two equal steps that were checked against one of both lengths."""

    begin: float  # [s]
    end: float  # [s]
    first: Array  # temperature at the begin, in the middle and at the end [K], walls included
    middle: Array
    last: Array
    heats: tuple[float, float]  # come in through all faces in each step [J]


def march(
    grid: Grid,
    temperature: Array,
    ambients: Callable[[float], Ambients],
    corners: Sequence[float],
    allowed: float,
) -> Iterator[Stride]:
    """Temperatures of all voxels from time 0 to the last of `corners`, stride by stride.

    Parameters
    ----------
    grid : Grid
    temperature : array (nx, ny, nz)
        At time 0, walls included [K].
    ambients : callable
        What the faces meet at a time [s]: low and high of each axis [K], straight between `corners`.
    corners : sequence of float
        Times at which a stride must end [s], rising; the last ends the march.
    allowed : float
        Error of any voxel of the bed in one stride, estimated by doing it in two steps and in one [K].

    Raises
    ------
    LawError
        If the steps shrink to nothing: a property is not a number.

    Source
    ------
    Step doubling: Hairer, Norsett, Wanner, Solving Ordinary Differential Equations I, section II.4 (from
    memory); for a method of second order the error is a third of the difference.
    """
    time, span = 0.0, _first_span(grid)
    kept: dict[float, Factors] = {}
    for corner in corners:
        while time < corner:
            part = _fitted(span, corner - time)
            stride, error = _stride(grid, temperature, ambients, time, (part, kept))
            if not error <= allowed:  # nan is refused too
                span = part / 2
            else:
                yield stride
                temperature, time = stride.last, stride.end
                if corner - time < SHORTEST:
                    time = corner
                if error < allowed * GROWTH:
                    span = max(span, 2 * part)
            if not span > SHORTEST:
                raise LawError(f"no step is short enough after {time:g} s; check the properties for nan")


def step(
    grid: Grid, factors: Factors, temperature: Array, before: Ambients, after: Ambients
) -> tuple[Array, float]:
    """Temperatures one step on [K], and the heat that came in through the faces [J].

    Parameters
    ----------
    grid : Grid
    factors : Factors
        Of this step's length, from `factored`.
    temperature : array (nx, ny, nz)
        At its begin [K].
    before, after : ambients
        At its begin and end [K].

    Returns
    -------
    array (nx, ny, nz), float
        Second order in the step; bounded at any length; heat stored equals heat come in to rounding.

    Source
    ------
    Douglas, Numer. Math. 4 (1962) 41 (from memory): Crank-Nicolson in three one-way corrections.
    """
    gain = np.zeros_like(temperature)
    heat = 0.0
    for axis in range(3):
        heat += factors.span * _add_inflow(grid, axis, temperature, before[axis], gain)
    gain *= factors.span
    for axis in range(3):
        rises = [comes - was for was, comes in zip(before[axis], after[axis], strict=True)]
        for end, coupling, rise in zip(ENDS, grid.outward[axis], rises, strict=True):
            np.moveaxis(gain, axis, 0)[end] += factors.span / 2 * coupling * rise
        change = _solved(factors, axis, gain)
        for end, coupling, rise in zip(ENDS, grid.outward[axis], rises, strict=True):
            late = coupling * (rise - np.moveaxis(change, axis, 0)[end])
            heat += factors.span / 2 * float(late.sum())
        gain = np.multiply(grid.capacity, change, order="C")
    return temperature + change, heat


def factored(grid: Grid, span: float) -> Factors:
    """The one-way systems of a step of `span` seconds, as L D L^T along every line of voxels.

    Source: Golub and Van Loan, Matrix Computations, section 4.3.6 (from memory).
    """
    carries, shares = [], []
    for axis in range(3):
        coupling = span / 2 * np.moveaxis(grid.between[axis], axis, 0)
        diagonal = np.array(np.moveaxis(grid.capacity, axis, 0), order="C")
        diagonal[:-1] += coupling
        diagonal[1:] += coupling
        for end, outward in zip(ENDS, grid.outward[axis], strict=True):
            diagonal[end] += span / 2 * outward
        carry = np.zeros_like(diagonal)
        for i in range(1, len(diagonal)):
            carry[i] = coupling[i - 1] / diagonal[i - 1]
            diagonal[i] -= carry[i] * coupling[i - 1]
        carries.append(carry)
        shares.append(np.reciprocal(diagonal, out=diagonal))
    return Factors(span, tuple(carries), tuple(shares))


def _stride(
    grid: Grid,
    temperature: Array,
    ambients: Callable[[float], Ambients],
    time: float,
    lengths: tuple[float, dict[float, Factors]],
) -> tuple[Stride, float]:
    """Two steps of a length from `time`, and how far the last is off [K]."""
    span, kept = lengths
    half, end = time + span, time + 2 * span
    at = ambients(time), ambients(half), ambients(end)
    whole, _ = step(grid, _kept(grid, 2 * span, kept), temperature, at[0], at[2])
    once = _kept(grid, span, kept)
    middle, heat = step(grid, once, temperature, at[0], at[1])
    last, more = step(grid, once, middle, at[1], at[2])
    error = float(np.abs(last - whole)[grid.inside].max()) / 3
    return Stride(time, end, temperature, middle, last, (heat, more)), error


def _kept(grid: Grid, span: float, kept: dict[float, Factors]) -> Factors:
    """Factors of a step length, remembered for the last few lengths."""
    factors = kept.pop(span, None)
    while len(kept) >= KEPT:
        del kept[next(iter(kept))]
    kept[span] = factors or factored(grid, span)
    return kept[span]


def _fitted(span: float, left: float) -> float:
    """Length of one of two steps so that strides end at the corner without a sliver."""
    if left <= 2 * span:
        return left / 2
    return left / 4 if left < 4 * span else span


def _first_span(grid: Grid) -> float:
    """Time in which the quickest voxel feels its neighbours [s]."""
    pull = np.zeros_like(grid.capacity)
    for axis in range(3):
        moved = np.moveaxis(pull, axis, 0)
        between = np.moveaxis(grid.between[axis], axis, 0)
        moved[:-1] += between
        moved[1:] += between
        moved[0] += grid.outward[axis][0]
        moved[-1] += grid.outward[axis][1]
    quickest = float((pull / grid.capacity).max())
    return 1 / quickest if quickest > 0 else 1.0


def _add_inflow(
    grid: Grid, axis: int, temperature: Array, ambient: tuple[float, float], gain: Array
) -> float:
    """Add what flows into each voxel along one axis to `gain` [W]; answers what the faces let in [W]."""
    at, into = np.moveaxis(temperature, axis, 0), np.moveaxis(gain, axis, 0)
    flow = np.moveaxis(grid.between[axis], axis, 0) * (at[1:] - at[:-1])
    into[:-1] += flow
    into[1:] -= flow
    through = 0.0
    for end, coupling, outside in zip(ENDS, grid.outward[axis], ambient, strict=True):
        enters = coupling * (outside - at[end])
        into[end] += enters
        through += float(enters.sum())
    return through


def _solved(factors: Factors, axis: int, gain: Array) -> Array:
    """Change of temperature that one axis makes of a gain of heat [K]; may use up `gain`.

    Whole planes at a time, the axis in front: twice as quick as LAPACK's one line after the other.
    """
    carry, share = factors.carry[axis], factors.share[axis]
    lines = np.ascontiguousarray(np.moveaxis(gain, axis, 0))
    moved = np.empty_like(lines[0])
    for i in range(1, len(lines)):
        lines[i] += np.multiply(carry[i], lines[i - 1], out=moved)
    lines *= share
    for i in range(len(lines) - 1, 0, -1):
        lines[i - 1] += np.multiply(carry[i], lines[i], out=moved)
    return np.moveaxis(lines, 0, axis)
