"""A furnace run as a body feels it: what its fluidity and its decay of porosity come to. SI."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from sagger.errors import LawError
from sagger.physics.solid import gas

Array = np.ndarray
STRIDE = 0.28  # of decay in one step: 0.1 % of the sag
LEAST_STEPS = 8
STILL = 0.02  # decay of porosity below which nothing has sintered


class FurnaceCourse(NamedTuple):
    """Sums up to each time, by offset of temperature (k,), rising; one of 0 if alike everywhere."""

    offsets: Array  # float64 (k,) [K]
    fluidity: Array  # float64 (k, n): integral of dt / viscosity of the dense skeleton [1/Pa]
    decay: Array  # float64 (k, n): integral of 9 alpha / (4 viscosity r) dt [-]
    shut: gas.Shut | None = None  # gas in closed pores; None: none is shut in


class CourseStep(NamedTuple):
    fluidity: Array  # float64 (k,): gained, by offset [1/Pa]
    decay: Array  # float64 (k,)
    around: gas.Around | None = None


def plain(decay: float, softness: float, count: int = 200) -> FurnaceCourse:
    """A run to this decay while the capillary radius stays: `softness` = r / alpha [m2/N].

    Then shape and density depend on nothing else of the furnace programme, see `sag.sag_after_sintering`.
    """
    path = np.linspace(0, decay, count + 1)[None, :]
    return FurnaceCourse(np.zeros(1), path * (4 / 9 * softness), path)


def fired(time: Array, fluidity_rate: Array, decay_rate: Array, offsets: Array) -> FurnaceCourse:
    """A run from 1 / viscosity and the rate of decay (k, n), by offset, at times (n,) [s]."""
    width = np.diff(time)

    def summed(rate: Array) -> Array:
        steps = (rate[:, 1:] + rate[:, :-1]) / 2 * width
        return np.concatenate([np.zeros((len(rate), 1)), np.cumsum(steps, axis=1)], axis=1)

    return FurnaceCourse(np.asarray(offsets, float), summed(fluidity_rate), summed(decay_rate))


def steps(course: FurnaceCourse, count: int | None = None) -> list[CourseStep]:
    """The run in steps of equal decay, by the offset nearest to 0.

    Raises
    ------
    LawError
        If the run hardly sinters.
    """
    middle = int(np.argmin(np.abs(course.offsets)))
    along = course.decay[middle]
    if not along[-1] > STILL:
        raise LawError(
            f"the programme does not sinter: porosity falls by {1 - np.exp(-along[-1]):.1%} only; "
            "choose a hotter or a longer one"
        )
    wanted = count or max(LEAST_STEPS, int(np.ceil(along[-1] / STRIDE)))
    levels = np.linspace(0, along[-1], wanted + 1)
    rising = np.concatenate([[True], np.diff(along) > 0])
    fluidity, decay = (
        np.array([np.interp(levels, along[rising], curve[rising]) for curve in kind])
        for kind in (course.fluidity, course.decay)
    )
    met: list[gas.Around | None] = [None] * wanted
    if course.shut is not None:
        shut = course.shut._replace(kelvin=course.shut.kelvin[rising], outside=course.shut.outside[rising])
        met = [gas.around(shut, along[rising], levels[k], levels[k + 1]) for k in range(wanted)]
    gained = zip(np.diff(fluidity).T, np.diff(decay).T, met, strict=True)
    return [CourseStep(*step) for step in gained]


def halved(step: CourseStep) -> tuple[CourseStep, CourseStep]:
    """The halves of a step."""
    met = (None, None) if step.around is None else gas.halves(step.around)
    one, two = (CourseStep(step.fluidity / 2, step.decay / 2, each) for each in met)
    return one, two


def felt(step: CourseStep, course: FurnaceCourse, warmer: Array) -> tuple[Array, Array]:
    """Fluidity and decay that bricks this much warmer (m,) [K] gain."""
    if len(course.offsets) == 1:
        return np.full(len(warmer), step.fluidity[0]), np.full(len(warmer), step.decay[0])
    return (
        np.exp(np.interp(warmer, course.offsets, np.log(np.maximum(step.fluidity, 1e-300)))),
        np.interp(warmer, course.offsets, step.decay),
    )
