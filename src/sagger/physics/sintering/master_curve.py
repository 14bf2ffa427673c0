"""What dilatometer runs and fired coupons say of a powder: activation energy and speed, with uncertainty.

The master curve is that of `densify.densified`: ln((1 - start) / (1 - density)) = speed x work, with the work
of sintering of `arrhenius.work`. Its speed stands for 9 alpha / (4 r eta_r) as a whole.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.constants import R

from sagger.errors import LawError
from sagger.physics.burnout import arrhenius
from sagger.physics.sintering import densify
from sagger.physics.sintering.densify import Curve

Array = NDArray[np.float64]
LEVELS = 12  # densities at which runs are compared
LEAST_SPAN = 0.02  # of density that all runs have in common, below which nothing can be said
MARGIN = 0.05  # of that span left out at each end, where a slow start or end blurs the time


class MasterCurve(NamedTuple):
    """A master curve in one parameter, and how well it is known.

    `speed` holds at `pivot`, the temperature at which it does not depend on the energy taken: it is the
    integrand there times `pivot`, so that density follows from x = speed t / pivot in a hold at `pivot`.
    """

    energy: float  # Q [J/mol]
    energy_u: float
    log_speed: float  # ln of c exp(-Q / (R pivot)), c in K/s
    log_speed_u: float
    pivot: float  # [K]
    misfit: float  # rms difference of density between readings and the curve [-]

    @property
    def speed(self) -> float:
        """c of x = c x work [K/s]."""
        return math.exp(self.log_speed + self.energy / (R * self.pivot))


class Sigmoid(NamedTuple):
    """The same readings on a sigmoid, `densify.sigmoid`."""

    centre: float  # ln work at half densification, work in s/K
    width: float
    misfit: float


def from_runs(curves: Sequence[Curve], u_temperature: float) -> MasterCurve:
    """The master curve on which dilatometer runs at two or more heating rates fall together.

    Parameters
    ----------
    curves : sequence of (time, temperature, density)
        Arrays (n,) each [s], [K], [-]; density must rise and begin alike.
    u_temperature : float
        Standard uncertainty of the temperature of a run, its own in each run [K].

    Returns
    -------
    Master
        Uncertainties: the larger of what moving each run's temperature by its u does, and of leaving out one
        run after the other (jackknife; three runs or more).

    Raises
    ------
    LawError
        If fewer than two runs are given, or they have no density in common.

    Source
    ------
    Energy: `densify.energy_by_collapse`. Uncertainty: JCGM 100:2008, 5.1.3; jackknife after Tukey (memory).
    """
    if len(curves) < 2:
        raise LawError(f"an activation energy needs two heating rates or more, got {len(curves)} run")
    levels = common_levels(curves)
    pivot = _pivot(curves, levels)
    energy, log_speed = _collapsed(curves, levels, pivot)
    moved = []
    for index in range(len(curves)):
        warmer = [
            (time, kelvin + u_temperature * (place == index), density)
            for place, (time, kelvin, density) in enumerate(curves)
        ]
        moved.append(np.subtract(_collapsed(warmer, levels, pivot), (energy, log_speed)))
    u = np.sqrt(np.sum(np.square(moved), axis=0))
    if len(curves) > 2:
        u = np.maximum(u, _jackknife(curves, levels, pivot))
    found = MasterCurve(energy, float(u[0]), log_speed, float(u[1]), pivot, 0.0)
    return found._replace(misfit=_misfit(curves, levels, found))


def common_levels(curves: Sequence[Curve]) -> Array:
    """Densities that every run passes, `LEVELS` of them [-]; `LawError` if runs have too little in common."""
    low = max(float(density[0]) for *_, density in curves)
    high = min(float(density[-1]) for *_, density in curves)
    if high - low < LEAST_SPAN:
        raise LawError(
            f"runs have too little density in common: one begins at {low:.3f}, one ends at {high:.3f}"
        )
    return np.linspace(low + MARGIN * (high - low), high - MARGIN * (high - low), LEVELS)


def _pivot(curves: Sequence[Curve], levels: Array) -> float:
    """Temperature whose inverse is the mean over runs and levels [K]."""
    return float(1 / np.mean([1 / np.interp(levels, density, kelvin) for _, kelvin, density in curves]))


def _collapsed(curves: Sequence[Curve], levels: Array, pivot: float) -> tuple[float, float]:
    energy = densify.energy_by_collapse(curves, levels)
    return energy, _log_speed(curves, levels, energy, pivot)


def _log_speed(curves: Sequence[Curve], levels: Array, energy: float, pivot: float) -> float:
    """Mean over levels and runs of ln(x / work), taken to the pivot."""
    logs = []
    for time, kelvin, density in curves:
        work = np.interp(levels, density, arrhenius.work(time, kelvin, energy))
        logs.append(np.log(np.log((1 - density[0]) / (1 - levels)) / work))
    return float(np.mean(logs) - energy / (R * pivot))


def _jackknife(curves: Sequence[Curve], levels: Array, pivot: float) -> Array:
    count = len(curves)
    left = [
        _collapsed([*curves[:index], *curves[index + 1 :]], levels, pivot) for index in range(count)
    ]  # each without one run
    return np.asarray(np.sqrt((count - 1) / count * np.sum((left - np.mean(left, axis=0)) ** 2, axis=0)))


def _misfit(curves: Sequence[Curve], levels: Array, master: MasterCurve) -> float:
    off = []
    for time, kelvin, density in curves:
        work = np.interp(levels, density, arrhenius.work(time, kelvin, master.energy))
        off.append(densify.densified(float(density[0]), master.speed * work) - levels)
    return float(np.sqrt(np.mean(np.square(off))))


def sigmoid(curves: Sequence[Curve], energy: float) -> Sigmoid:
    """The sigmoid through the same readings: straight line of ln((density - start) / (1 - density)).

    Source
    ------
    Linearised master sintering curve, `densify.linearised`; least squares.
    """
    levels = common_levels(curves)
    works, odds = [], []
    for time, kelvin, density in curves:
        work = np.interp(levels, density, arrhenius.work(time, kelvin, energy))
        works.append(np.log(work))
        odds.append([densify.linearised(float(level), float(density[0])) for level in levels])
    slope, offset = np.polyfit(np.concatenate(works), np.concatenate(odds), 1)
    width, centre = 1 / slope, -offset / slope
    off = [
        densify.sigmoid(float(log), float(density[0]), centre, width) - level
        for (*_, density), logs in zip(curves, works, strict=True)
        for log, level in zip(logs, levels, strict=True)
    ]
    return Sigmoid(float(centre), float(width), float(np.sqrt(np.mean(np.square(off)))))


class FiredCoupon(NamedTuple):
    """One coupon and the firing it saw."""

    time: Array  # (n,) [s]
    temperature: Array  # (n,) [K]
    start: float  # relative density before [-]
    density: float  # and after [-]
    u: float  # standard uncertainty of the density after [-]


def from_coupons(coupons: Sequence[FiredCoupon], energy: float, energy_u: float) -> MasterCurve:
    """The master curve through coupons that were fired and weighed.

    Parameters
    ----------
    coupons : sequence of Coupon
    energy, energy_u : float
        Activation energy believed before, and its standard uncertainty (0: it is not to be moved) [J/mol].
        Coupons of one firing leave it as it is; they say how fast, at the temperature they saw.

    Raises
    ------
    LawError
        If there is no coupon, or one did not densify.

    Source
    ------
    Least squares of ln x with the belief as one more reading (Gauss-Newton; JCGM 102, linearised); the pivot
    is where speed and energy come out uncorrelated. Scatter beyond the stated u widens both (Birge).
    """
    if not coupons:
        raise LawError("no coupon was given")
    for number, coupon in enumerate(coupons, start=1):
        if not coupon.start < coupon.density < 1:
            what = f"coupon {number} goes from {coupon.start:.4f} to {coupon.density:.4f}"
            raise LawError(f"{what}; it must get denser and stay below 1")
    logs = np.log([math.log((1 - coupon.start) / (1 - coupon.density)) for coupon in coupons])
    u = np.array(
        [coupon.u / ((1 - coupon.density) * math.exp(log)) for coupon, log in zip(coupons, logs, strict=True)]
    )
    at = energy
    cover = np.zeros((2, 2))
    for _ in range(20):
        works = np.array(
            [np.log(arrhenius.work(coupon.time, coupon.temperature, at)[-1]) for coupon in coupons]
        )
        slopes = np.array([_work_slope(coupon, at) for coupon in coupons])
        rows = np.column_stack([np.ones(len(logs)), slopes]) / u[:, None]
        wanted = (logs - works + slopes * at) / u
        if energy_u > 0:
            rows, wanted = np.vstack([rows, [0, 1 / energy_u]]), np.append(wanted, energy / energy_u)
        else:
            rows[:, 1], wanted = 0.0, (logs - works) / u
        cover = np.linalg.pinv(rows.T @ rows)
        log_c, refined = cover @ rows.T @ wanted
        refined = float(refined) if energy_u > 0 else energy
        if abs(refined - at) < 1e-9 * energy:
            break
        at = float(np.clip(refined, 0.5 * at, 2 * at))
    return _at_pivot(coupons, logs, u, at, float(log_c), cover)


def _work_slope(coupon: FiredCoupon, energy: float) -> float:
    """d ln work / dQ [mol/J]."""
    step = 1e-4 * energy
    ends = [arrhenius.work(coupon.time, coupon.temperature, energy + sign * step)[-1] for sign in (-1, 1)]
    return float(np.log(ends[1] / ends[0]) / (2 * step))


def _at_pivot(
    coupons: Sequence[FiredCoupon], logs: Array, u: Array, energy: float, log_c: float, cover: Array
) -> MasterCurve:
    slope = -float(np.mean([_work_slope(coupon, energy) for coupon in coupons]))  # 1 / (R T) the coupons saw
    if cover[1, 1] > 0:
        slope = float(cover[0, 1] / cover[1, 1])
    pivot = 1 / (R * slope)
    spread = float(cover[0, 0] - slope**2 * cover[1, 1])
    works = np.array([arrhenius.work(coupon.time, coupon.temperature, energy)[-1] for coupon in coupons])
    off = logs - log_c - np.log(works)
    free = len(coupons) - 1
    birge = max(1.0, math.sqrt(float(np.sum((off / u) ** 2)) / free)) if free else 1.0
    predicted = [
        float(densify.densified(coupon.start, math.exp(log_c) * work)) - coupon.density
        for coupon, work in zip(coupons, works, strict=True)
    ]
    return MasterCurve(
        energy,
        math.sqrt(float(cover[1, 1])) * (birge if free > 1 else 1.0),
        log_c - energy * slope,
        math.sqrt(max(spread, 0.0)) * birge,
        pivot,
        float(np.sqrt(np.mean(np.square(predicted)))),
    )
