"""What a thermobalance says about burnout: from mass against temperature to first-order figures."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.constants import R
from scipy.optimize import isotonic_regression, minimize_scalar
from scipy.signal import savgol_filter

from sagger.errors import LawError
from sagger.physics.burnout import arrhenius, binder_loss
from sagger.physics.burnout.isoconversion import Energy, friedman, kas, ozawa

Array = NDArray[np.float64]
LEVELS = np.linspace(0.1, 0.9, 17)  # conversions at which runs are compared
GRID = 400  # points of temperature between the ends of a step
SMOOTH = 0.15  # of the way from 10 to 90 % gone, over which the rate is smoothed
UPPER = 0.5  # of the highest rate; what lies above tells where the peak is
LOWEST, HIGHEST = 20e3, 800e3  # activation energies searched [J/mol]
LEAST_ROWS = 20  # of one run within the step


class BalanceRun(NamedTuple):
    """One run of the thermobalance."""

    time: Array  # (n,) rising [s]
    temperature: Array  # (n,) [K]
    mass: Array  # (n,) in any one unit


class LossStep(NamedTuple):
    """One run within one step of loss."""

    heating: float  # mean rate [K/s]
    temperature: Array  # (GRID,) rising [K]
    time: Array  # (GRID,) [s]
    gone: Array  # (GRID,) rising from 0 to 1 [-]
    speed: Array  # (GRID,) of `gone` [1/s]
    lost: float  # share of the mass at the step's start [-]

    def at(self, level: float, what: Array) -> float:
        """Another quantity where this share is gone."""
        return float(np.interp(level, self.gone, what))

    @property
    def peak(self) -> float:
        """Temperature of the fastest loss [K]: top of a cubic through the upper part of the rate."""
        top = int(np.argmax(self.speed))
        low = self.speed < UPPER * self.speed[top]
        first = int(np.flatnonzero(low[:top])[-1]) + 1 if low[:top].any() else 0
        last = top + int(np.argmax(low[top:])) if low[top:].any() else len(low)
        if last - first < 5:
            return float(self.temperature[top])
        kelvin = self.temperature[first:last] - self.temperature[top]
        fine = np.linspace(kelvin[0], kelvin[-1], 50 * len(kelvin))
        smooth = np.polyval(np.polyfit(kelvin, self.speed[first:last], 3), fine)
        return float(self.temperature[top] + fine[int(np.argmax(smooth))])


class BurnoutMaster(NamedTuple):
    """The runs drawn together on one curve of conversion against the work of heating."""

    energy: Energy
    log_frequency: float  # ln of A [1/s], first order
    log_frequency_u: float  # spread of single points about the first-order line [-]
    order_slope: float  # of ln(-ln(1 - gone)) over ln(work); 1 for first order [-]


class BurnoutKinetics(NamedTuple):
    """Burnout as one first-order step, and what speaks for and against that."""

    kissinger: Energy
    by_level: tuple[tuple[float, Energy, Energy, Energy], ...]  # gone; Friedman, KAS, Ozawa
    master: BurnoutMaster
    misfit: float  # largest difference of share gone between the first-order law and a run [-]

    @property
    def drift(self) -> float:
        """Range of the isoconversional (KAS) energies over their mean [-]; small for one step."""
        values = [each.value for _, _, each, _ in self.by_level]
        return (max(values) - min(values)) / float(np.mean(values))


def step(run: BalanceRun, low: float, high: float) -> LossStep:
    """One run between two temperatures [K], as share gone of what it loses there.

    Raises
    ------
    LawError
        If the run has fewer than 20 rows there, or loses nothing.

    Source
    ------
    Mass falls or stays: isotonic regression takes the noise. Rate: Savitzky and Golay, second degree.
    """
    inside = (run.temperature >= low) & (run.temperature <= high)
    if np.count_nonzero(inside) < LEAST_ROWS:
        raise LawError(f"a run has {np.count_nonzero(inside)} rows within the step, {LEAST_ROWS} are needed")
    time, kelvin, mass = run.time[inside], run.temperature[inside], run.mass[inside]
    falling = isotonic_regression(mass, increasing=False).x
    kelvin = np.maximum.accumulate(kelvin)
    grid = np.linspace(kelvin[0], kelvin[-1], GRID)
    if falling[0] <= 0 or falling[0] - falling[-1] <= 1e-6 * abs(falling[0]):
        raise LawError("a run loses nothing within the step; widen its limits")
    gone = np.interp(grid, kelvin, (falling[0] - falling) / (falling[0] - falling[-1]))
    when = np.interp(grid, kelvin, time)
    heating = float(np.polyfit(when, grid, 1)[0])
    main = np.count_nonzero((gone > 0.1) & (gone < 0.9))
    width = max(5, round(SMOOTH * main) | 1)
    speed = savgol_filter(gone, width, 2, deriv=1, delta=grid[1] - grid[0]) * heating
    lost = float((falling[0] - falling[-1]) / falling[0])
    return LossStep(heating, grid, when, gone, np.maximum(speed, 1e-12), lost)


def evaluate(steps: Sequence[LossStep]) -> BurnoutKinetics:
    """First-order figures of one step of loss from runs at different heating rates.

    Raises
    ------
    LawError
        If there are fewer than three runs, or their rates hardly differ.

    Source
    ------
    Kissinger; Friedman; Kissinger, Akahira and Sunose; Ozawa, Flynn and Wall: see `isoconversion`.
    Master decomposition curve: Atre, Enneti, Park and German, Powder Metall. 51 (2008) 368 (abstract read).
    """
    rates = [step.heating for step in steps]
    if len(steps) < 3 or max(rates) < 2 * min(rates):
        raise LawError(
            f"three runs at least, the fastest twice as fast as the slowest; got {len(steps)} from "
            f"{min(rates, default=0) * 60:.3g} to {max(rates, default=0) * 60:.3g} K/min"
        )
    by_level = []
    for level in LEVELS:
        kelvin = [step.at(level, step.temperature) for step in steps]
        speeds = [step.at(level, step.speed) for step in steps]
        by_level.append((float(level), friedman(kelvin, speeds), kas(rates, kelvin), ozawa(rates, kelvin)))
    fitted = master(steps)
    return BurnoutKinetics(
        kissinger=kas(rates, [step.peak for step in steps]),
        by_level=tuple(by_level),
        master=fitted,
        misfit=max(_misfit(step, fitted) for step in steps),
    )


def master(steps: Sequence[LossStep]) -> BurnoutMaster:
    """The energy at which all runs fall on one curve best, and the first-order line through that curve.

    Source
    ------
    Least spread of ln(integral of exp(-E/RT) over time) between runs at equal conversion; uncertainty from
    the curvature of that spread at its least.
    """

    def spread(energy: float) -> float:
        work = _log_work(steps, energy)
        return float(np.sum((work - work.mean(axis=0)) ** 2))

    found = minimize_scalar(spread, bounds=(LOWEST, HIGHEST), method="bounded", options={"xatol": 1.0})
    energy = float(found.x)
    small = 1e-3 * energy
    bend = (spread(energy + small) - 2 * spread(energy) + spread(energy - small)) / small**2
    runs = len(steps)
    # Points of one run err together: the runs count, not the levels.
    left = spread(energy) / len(LEVELS) / max(runs - 2, 1)
    u = math.sqrt(2 * left * len(LEVELS) / bend) if bend > 0 else math.nan
    work = _log_work(steps, energy)
    order = np.log(-np.log1p(-LEVELS))
    slope = float(np.polyfit(work.mean(axis=0), order, 1)[0])
    offsets = order - work
    return BurnoutMaster(Energy(energy, u), float(offsets.mean()), float(offsets.std(ddof=1)), slope)


def _log_work(steps: Sequence[LossStep], energy: float) -> Array:
    """ln of the work of heating at each level of each run, (runs, levels)."""
    return np.array([_levelled(step, energy) for step in steps])


def _levelled(one: LossStep, energy: float) -> Array:
    work = arrhenius.exposure(one.time, one.temperature, energy)
    work = work + R * one.temperature[0] ** 2 / energy / one.heating * math.exp(
        -energy / (R * one.temperature[0])
    )  # what was done below the step
    return np.asarray(np.log(np.interp(LEVELS, one.gone, work)))


def _misfit(one: LossStep, fitted: BurnoutMaster) -> float:
    law = binder_loss.gone(one.time, one.temperature, fitted.energy.value, math.exp(fitted.log_frequency))
    return float(np.abs(law - one.gone).max())


def peak_at(fitted: BurnoutMaster, rate: float) -> tuple[float, float]:
    """Temperature of the fastest loss at a heating rate [K/s], and its standard uncertainty [K].

    Source: `burnout.peak`; RT^2/E times the spread of single points about the first-order line.
    """
    energy = fitted.energy.value
    at = binder_loss.peak(energy, math.exp(fitted.log_frequency), rate)
    return at, R * at**2 / energy * fitted.log_frequency_u
