"""The conductivity of a bed from one thermocouple in it. All SI, temperatures in kelvin."""

from __future__ import annotations

from collections.abc import Callable
from math import exp, log
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator
from scipy.optimize import least_squares

from sagger.errors import LawError
from sagger.physics.heat.box_heat import ALLOWED, Programme, meets, oven_at
from sagger.physics.heat.box_heat_grid import Face, HeatedBed, grid, middles, voxel_at
from sagger.physics.heat.box_heat_march import march
from sagger.tick import Tick, silent

Array = NDArray[np.float64]
Model = Callable[[float], Array]  # conductivity [W/(m K)] to temperatures at the times read [K]
LOW, HIGH = 0.01, 20.0  # [W/(m K)]; no bed of powder lies outside
STEP = 0.02  # of the logarithm, for the slope
POINTS = 200  # of a history are compared
FLAT = 1.0  # least rise of the reading that says anything [K]
END = 0.01  # of the logarithm: nearer to LOW or HIGH than this is no answer


class Probe(NamedTuple):
    """Where and when a bed was read."""

    place: tuple[float, float, float]  # from the low corner of the bed [m]
    times: Array  # rising, from 0 [s]
    temperature: Array  # [K]


class BedFit(NamedTuple):
    """The conductivity that a reading tells."""

    conductivity: float  # [W/(m K)]
    modelled: Array  # at the probe's times [K]
    slope: Array  # change of the model per unit of the conductivity's logarithm [K]
    misfit: float  # root mean square of model less reading [K]


def history(
    bed: HeatedBed, faces: tuple[Face, ...], programme: Programme, probe: Probe, *, allowed: float = ALLOWED
) -> Array:
    """Temperatures at the probe's place and times [K], shape of its times.

    Between the middles of voxels it is linear. Other parameters and source as in `box_heat.cure`.
    """
    box = grid(bed, faces)
    voxel_at(bed, probe.place)  # refuses a place outside
    near, weights = _around(bed, probe.place)

    def here(temperature: Array) -> float:
        x, y, z = weights
        return float(x @ (temperature[box.inside][near] @ z) @ y)

    times, values = [0.0], [bed.start]
    oven = meets(faces, lambda time: oven_at(programme, time))
    cold = np.full(box.capacity.shape, bed.start)
    for stride in march(box, cold, oven, [time for time in programme.times if time > 0], allowed):
        times += [(stride.begin + stride.end) / 2, stride.end]
        values += [here(stride.middle), here(stride.last)]
    return np.asarray(PchipInterpolator(times, values)(probe.times))


def _around(bed: HeatedBed, place: tuple[float, float, float]) -> tuple[Any, list[Array]]:
    """The two voxels around a place along each axis, and their weights; at a face its own voxel alone."""
    windows, weights = [], []
    for at, along in zip(place, bed.widths, strict=True):
        middle = middles(along)
        first = int(np.clip(np.searchsorted(middle, at) - 1, 0, max(len(middle) - 2, 0)))
        two = middle[first : first + 2]
        share = float(np.clip((at - two[0]) / (two[-1] - two[0]), 0.0, 1.0)) if len(two) > 1 else 0.0
        windows.append(slice(first, first + len(two)))
        weights.append(np.array([1 - share, share][: len(two)]))
    return tuple(windows), weights


def fit(model: Model, temperature: Array, guess: float, *, tick: Tick = silent) -> BedFit:
    """The conductivity whose history comes nearest to the one read.

    Parameters
    ----------
    model : callable
        History at the times read, of a conductivity.
    temperature : array (n,)
        Read [K].
    guess : float
        Where to begin [W/(m K)].

    Returns
    -------
    Fit

    Raises
    ------
    LawError
        If the reading hardly rises, or no conductivity of a powder bed comes near it.

    Source
    ------
    Least squares on the logarithm of the conductivity, which cannot turn negative.
    """
    if np.ptp(temperature) < FLAT:
        raise LawError(f"the reading rises by {np.ptp(temperature):.2g} K; heat the box before it is read")

    def off(logarithm: Array) -> Array:
        tick.say("fitting the bed's conductivity")
        return model(exp(float(logarithm[0]))) - temperature

    bounds = ([log(LOW)], [log(HIGH)])
    found = least_squares(off, [log(guess)], bounds=bounds, diff_step=STEP, x_scale=0.3, xtol=1e-5)
    best = float(found.x[0])
    if not log(LOW) + END < best < log(HIGH) - END:
        what = f"no conductivity from {LOW:g} to {HIGH:g} W/(m K) gives what was read"
        raise LawError(f"{what}; check the place of the thermocouple, the box and the columns of the table")
    modelled = model(exp(best))
    slope = (model(exp(best + STEP)) - model(exp(best - STEP))) / (2 * STEP)
    misfit = float(np.sqrt(np.mean((modelled - temperature) ** 2)))
    return BedFit(exp(best), modelled, slope, misfit)


def moved(fitted: BedFit, shift: Array | float) -> float:
    """How far the conductivity would go [W/(m K)] if the model read `shift` higher [K].

    Source: one Gauss-Newton step; for shifts that are small beside the rise.
    """
    slope = fitted.slope
    whole = np.broadcast_to(np.asarray(shift, dtype=float), slope.shape)
    return -fitted.conductivity * float(slope @ whole) / float(slope @ slope)


def straight(times: Array, values: Array, off: float) -> Programme:
    """A history as straight stretches that stay within `off` of it.

    Parameters
    ----------
    times, values : array (n,)
        [s], [K].
    off : float
        [K].

    Source
    ------
    Ramer (1972), Douglas and Peucker (1973), with the distance taken along the value.
    """
    chosen, open_ends = {0, len(times) - 1}, [(0, len(times) - 1)]
    while open_ends:
        first, last = open_ends.pop()
        line = np.interp(times[first : last + 1], times[[first, last]], values[[first, last]])
        away = np.abs(values[first : last + 1] - line)
        worst = first + int(away.argmax())
        if away.max() > off:
            chosen.add(worst)
            open_ends += [(first, worst), (worst, last)]
    corners = sorted(chosen)
    return Programme(tuple(times[corners].tolist()), tuple(values[corners].tolist()))


def thinned(times: Array, values: Array) -> tuple[Array, Array]:
    """A history at no more than some hundred times, evenly spaced."""
    if len(times) <= POINTS:
        return times, values
    even = np.linspace(times[0], times[-1], POINTS)
    return even, np.interp(even, times, values)
