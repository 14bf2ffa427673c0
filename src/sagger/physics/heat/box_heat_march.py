"""Heat through a grid of voxels over time: one direction after the other, steps of fitting length. SI."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from math import prod
from typing import NamedTuple

import numpy as np
from numpy import ndarray
from numpy.typing import NDArray

from sagger.compiled import kernel
from sagger.errors import LawError
from sagger.physics.heat.box_heat_grid import HeatGrid

Array = NDArray[np.float64]
Ambients = tuple[tuple[float, float], ...]  # low and high face of each axis [K]
ENDS = (0, -1)  # the low and the high face along an axis
KEPT = 3  # step lengths whose factors are kept: half, whole, and the next
GROWTH = 1 / 4  # error below this share of what is allowed: the step may double
SHORTEST = 1e-6  # [s]
ABREAST = 8  # lines solved at a time


class FactoredSystems(NamedTuple):
    """The three one-way systems of one step length, factored; arrays as `_lines` has them along each axis."""

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
    grid: HeatGrid,
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
    known: dict[float, FactoredSystems] = {}
    for corner in corners:
        while time < corner:
            part = _fitted(span, corner - time)
            stride, error = _stride(grid, temperature, ambients, time, (part, known))
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
    grid: HeatGrid, factors: FactoredSystems, temperature: Array, before: Ambients, after: Ambients
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
    gain, heat = np.zeros(temperature.shape), 0.0
    for axis in range(3):
        heat += factors.span * _add_inflow(grid, axis, temperature, before[axis], gain)
    gain *= factors.span
    for axis in range(3):
        rises = [comes - was for was, comes in zip(before[axis], after[axis], strict=True)]
        for end, coupling, rise in zip(ENDS, grid.outward[axis], rises, strict=True):
            np.moveaxis(gain, axis, 0)[end] += factors.span / 2 * coupling * rise
        change = gain  # of temperature, once it is solved for
        SOLVE[axis](factors.carry[axis], factors.share[axis], _lines(change, axis))
        for end, coupling, rise in zip(ENDS, grid.outward[axis], rises, strict=True):
            late = coupling * (rise - np.moveaxis(change, axis, 0)[end])
            heat += factors.span / 2 * float(late.sum())
        gain = grid.capacity * change
    return temperature + change, heat


def factored(grid: HeatGrid, span: float) -> FactoredSystems:
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
        carries.append(_lines(np.ascontiguousarray(np.moveaxis(carry, 0, axis)), axis))
        shares.append(_lines(np.ascontiguousarray(np.moveaxis(1 / diagonal, 0, axis)), axis))
    return FactoredSystems(span, tuple(carries), tuple(shares))


def _stride(
    grid: HeatGrid,
    temperature: Array,
    ambients: Callable[[float], Ambients],
    time: float,
    lengths: tuple[float, dict[float, FactoredSystems]],
) -> tuple[Stride, float]:
    """Two steps of a length from `time`, and how far the last is off [K]."""
    span, known = lengths
    half, end = time + span, time + 2 * span
    at = ambients(time), ambients(half), ambients(end)
    whole, _ = step(grid, _remembered(grid, 2 * span, known), temperature, at[0], at[2])
    once = _remembered(grid, span, known)
    middle, heat = step(grid, once, temperature, at[0], at[1])
    last, more = step(grid, once, middle, at[1], at[2])
    error = float(np.abs(last - whole)[grid.inside].max()) / 3
    return Stride(time, end, temperature, middle, last, (heat, more)), error


def _remembered(grid: HeatGrid, span: float, known: dict[float, FactoredSystems]) -> FactoredSystems:
    """Factors of a step length, remembered for the last few lengths."""
    factors = known.pop(span, None)
    while len(known) >= KEPT:
        del known[next(iter(known))]
    known[span] = factors or factored(grid, span)
    return known[span]


def _fitted(span: float, left: float) -> float:
    """Length of one of two steps so that strides end at the corner without a sliver."""
    if left <= 2 * span:
        return left / 2
    return left / 4 if left < 4 * span else span


def _first_span(grid: HeatGrid) -> float:
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
    grid: HeatGrid, axis: int, temperature: Array, ambient: tuple[float, float], gain: Array
) -> float:
    """Add what flows into each voxel along one axis to `gain` [W]; answers what the faces let in [W]."""
    ADD_BETWEEN[axis](_lines(grid.between[axis], axis), _lines(temperature, axis), _lines(gain, axis))
    at, into = np.moveaxis(temperature, axis, 0), np.moveaxis(gain, axis, 0)
    through = 0.0
    for end, coupling, outside in zip(ENDS, grid.outward[axis], ambient, strict=True):
        enters = coupling * (outside - at[end])
        into[end] += enters
        through += float(enters.sum())
    return through


def _lines(values: Array, axis: int) -> Array:
    """The same numbers with all axes before this one as one, and all behind it as one if there are any."""
    before, along, behind = prod(values.shape[:axis]), values.shape[axis], prod(values.shape[axis + 1 :])
    return values.reshape((before, along) if axis == values.ndim - 1 else (before, along, behind))


@kernel
def _add_between(between: ndarray, at: ndarray, gain: ndarray) -> None:
    """Add what flows into each voxel from its neighbours along the middle axis to `gain` [W]."""
    before, along, behind = at.shape
    for i in range(before):
        for j in range(along):
            if j + 1 < along:
                for k in range(behind):
                    gain[i, j, k] += between[i, j, k] * (at[i, j + 1, k] - at[i, j, k])
            if j > 0:
                for k in range(behind):
                    gain[i, j, k] -= between[i, j - 1, k] * (at[i, j, k] - at[i, j - 1, k])


@kernel
def _add_between_last(between: ndarray, at: ndarray, gain: ndarray) -> None:
    """The same along the last axis, quicker."""
    for i in range(at.shape[0]):
        for j in range(at.shape[1] - 1):
            gain[i, j] += between[i, j] * (at[i, j + 1] - at[i, j])
        for j in range(1, at.shape[1]):
            gain[i, j] -= between[i, j - 1] * (at[i, j] - at[i, j - 1])


@kernel
def _solve(carry: ndarray, share: ndarray, gain: ndarray) -> None:
    """Make of a gain of heat [J] the change of temperature along the middle axis [K], in place."""
    before, along, behind = gain.shape
    for i in range(before):
        for j in range(1, along):
            for k in range(behind):
                gain[i, j, k] += carry[i, j, k] * gain[i, j - 1, k]
        for j in range(along):
            for k in range(behind):
                gain[i, j, k] *= share[i, j, k]
        for j in range(along - 1, 0, -1):
            for k in range(behind):
                gain[i, j - 1, k] += carry[i, j, k] * gain[i, j, k]


@kernel
def _solve_last(carry: ndarray, share: ndarray, gain: ndarray) -> None:
    """The same along the last axis, some lines abreast: a voxel waits for the one before it in its line."""
    for first in range(0, len(gain), ABREAST):
        last = min(first + ABREAST, len(gain))
        for j in range(1, gain.shape[1]):
            for i in range(first, last):
                gain[i, j] += carry[i, j] * gain[i, j - 1]
        for i in range(first, last):
            for j in range(gain.shape[1]):
                gain[i, j] *= share[i, j]
        for j in range(gain.shape[1] - 1, 0, -1):
            for i in range(first, last):
                gain[i, j - 1] += carry[i, j] * gain[i, j]


ADD_BETWEEN = (_add_between, _add_between, _add_between_last)  # by axis
SOLVE = (_solve, _solve, _solve_last)
