"""A shorter oven programme at equal cure of the last piece. All SI, temperatures in kelvin.

Heat in a box is linear in what the oven does. So the answer to one sudden kelvin, kept at a few voxels, tells
what any programme does there; a thousand programmes cost less than one run. The best one is then run in full.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from itertools import pairwise
from math import ceil, floor, inf
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import cumulative_simpson
from scipy.interpolate import PchipInterpolator

from sagger.errors import LawError
from sagger.physics.heat.box_heat import (
    ALLOWED,
    BoxRun,
    CuringBox,
    Programme,
    all_cured,
    cure,
    ended,
    meets,
    reached,
)
from sagger.physics.heat.box_heat_grid import Face, HeatedBed, grid
from sagger.physics.heat.box_heat_kinetics import CureKinetics, equivalent_needed, speed
from sagger.physics.heat.box_heat_march import march
from sagger.tick import Tick, silent

Array = NDArray[np.float64]
HOT_GRAIN, WARM_GRAIN = 5.0, 10.0  # set points are tried so far apart [K]
DEEPEST = 100.0  # the second hold lies at most so far below the first [K]
MINUTE = 60.0
HOLD_GRAIN = 5 * MINUTE  # of the search for how long the hot hold may last
POINTS = 400  # of a history on which a candidate is judged
MARGIN = 0.99  # of the corner's limit is used, so that the full run keeps it too
SPARE = 1.02  # a candidate is run a little longer than it should need


class ProgrammeLimits(NamedTuple):
    """What a proposed programme must keep to."""

    hottest: float  # set point, the lowest of what oven, binder and powder allow [K]
    ramp: float  # fastest change of the oven, up and down [K/s]
    corner: float  # longest equivalent time of any piece's voxel when the last is cured [s]


class OvenProposal(NamedTuple):
    """A programme that was found and then run in full."""

    programme: Programme
    run: BoxRun
    saved: float  # earlier than the run it was compared with [s]


class Answer(NamedTuple):
    """What a few voxels do after the oven rose by one kelvin at time 0, and what their own ambients add."""

    risen: PchipInterpolator  # time [s] to share of the rise, per voxel [-]
    added: PchipInterpolator  # time [s] to temperature from the faces with an ambient of their own [K]
    start: float  # [K]
    end: float  # [s]


def propose(
    box: CuringBox,
    limits: ProgrammeLimits,
    base: tuple[Programme, BoxRun],
    *,
    allowed: float = ALLOWED,
    tick: Tick = silent,
) -> OvenProposal | None:
    """A programme that cures the last piece sooner than `base` does, or None if none was found.

    Parameters
    ----------
    box, allowed
        As in `box_heat.cure`.
    limits : ProgrammeLimits
    base : Programme, BoxRun
        What to beat: a programme and what `cure` made of it.

    Returns
    -------
    OvenProposal or None
        Hot hold, then a lower one until the last piece is cured; it ends on a full minute. Set points lie
        5 K apart. Its run holds both limits, or it is not proposed.

    Raises
    ------
    LawError
        If a limit is not above 0, or the base does not cure the last piece.

    Source
    ------
    Duhamel's superposition (Carslaw and Jaeger, Conduction of Heat in Solids, section 1.14, from memory).
    """
    (programme, run), (bed, faces, kinetics) = base, box
    if not min(limits) > 0:
        raise LawError(f"limits of a programme must be above 0, got {limits}")
    if run.cured_after == inf:
        raise LawError("the programme to beat does not cure the last piece; make it longer or hotter first")
    answer = _answer(bed, faces, run, max(limits.hottest - bed.start, 1.0), allowed)
    best = _best(answer, kinetics, limits, programme)
    if best is None:
        return None
    done = all_cured(bed, kinetics)
    full = cure(box, best, allowed=allowed, until=done, tick=tick)
    if full.cured_after >= run.cured_after or full.corner_equivalent > limits.corner:
        return None
    shown = ended(best, MINUTE * ceil(full.cured_after / MINUTE))
    return OvenProposal(shown, full, run.cured_after - full.cured_after)


def temperatures(answer: Answer, programme: Programme, times: Array) -> Array:
    """What a programme does at the voxels of `answer` [K], shape (times, voxels).

    Source: Duhamel's superposition; exact for straight stretches of the oven but for the interpolation.
    """
    summed = answer.risen.antiderivative()
    first = programme.temperatures[0] - answer.start
    warm = answer.start + answer.added(times) + first * answer.risen(times)
    corners = zip(programme.times, programme.temperatures, strict=True)
    for (begin, low), (end, high) in pairwise(corners):
        since, until = np.maximum(times - begin, 0.0), np.maximum(times - end, 0.0)
        warm = warm + (high - low) / (end - begin) * (summed(since) - summed(until))
    return np.asarray(warm)


def _answer(bed: HeatedBed, faces: tuple[Face, ...], run: BoxRun, rise: float, allowed: float) -> Answer:
    """Both responses at the last voxel and at the corner, up to the time the base run was cured.

    The error of one stride is held to `allowed` [K] for an oven that rises by `rise` [K].
    """
    box, end = grid(bed, faces), run.cured_after
    where = tuple(np.array([run.last[axis], run.corner[axis]]) + box.inside[axis].start for axis in range(3))

    def history(oven: float, others: Callable[[float], float], allowed: float) -> PchipInterpolator:
        own = tuple(
            face._replace(ambient=None if face.ambient is None else others(face.ambient)) for face in faces
        )
        still = np.zeros(box.capacity.shape)
        times, values = [0.0], [still[where]]
        for stride in march(box, still, meets(own, lambda time: oven), [end], allowed):
            times += [(stride.begin + stride.end) / 2, stride.end]
            values += [stride.middle[where], stride.last[where]]
        return PchipInterpolator(times, values)

    risen = history(1.0, lambda ambient: 0.0, allowed / rise)
    added = history(0.0, lambda ambient: ambient - bed.start, allowed)
    return Answer(risen, added, bed.start, end)


def _best(
    answer: Answer, kinetics: CureKinetics, limits: ProgrammeLimits, base: Programme
) -> Programme | None:
    """The candidate that cures the last piece soonest, by more than a minute; None if there is none."""
    best, soonest = None, answer.end - MINUTE
    begin, usual = base.temperatures[0], max(base.temperatures)
    for hot in _sets(usual, limits.hottest, HOT_GRAIN):
        for warm in _sets(hot, max(hot - DEEPEST, begin), WARM_GRAIN):
            make = partial(_two_holds, begin, hot, warm, limits.ramp)
            hold, cured = _longest_hold(answer, kinetics, limits, make)
            if cured < soonest:
                best, soonest = make(hold, SPARE * cured), cured
    return best


def _longest_hold(
    answer: Answer, kinetics: CureKinetics, limits: ProgrammeLimits, make: Callable[[float, float], Programme]
) -> tuple[float, float]:
    """The longest hot hold that spares the corner, and when the last piece is then cured; inf if none."""

    def judged(hold: float) -> float:
        return _cured(answer, kinetics, make(hold, answer.end), MARGIN * limits.corner)

    short, long = 0.0, answer.end
    cured = judged(short)
    if cured == inf:
        return short, inf
    while long - short > HOLD_GRAIN:
        middle = (short + long) / 2
        found = judged(middle)
        if found < inf:
            short, cured = middle, found
        else:
            long = middle
    return short, cured


def _cured(answer: Answer, kinetics: CureKinetics, programme: Programme, corner: float) -> float:
    """When the last voxel is cured [s]; inf if it is not, or the corner has then seen more than `corner`."""
    times = np.linspace(0.0, answer.end, POINTS)
    rates = speed(kinetics, temperatures(answer, programme, times))
    last, most = cumulative_simpson(rates.T, x=times, initial=0.0)
    cured = reached(times, last, equivalent_needed(kinetics))
    return cured if cured < inf and np.interp(cured, times, most) <= corner else inf


def _two_holds(begin: float, hot: float, warm: float, ramp: float, hold: float, end: float) -> Programme:
    """Up to `hot`, held for whole minutes, then `warm` until `end`."""
    up, down = abs(hot - begin) / ramp, (hot - warm) / ramp
    turn = up + MINUTE * floor(hold / MINUTE)
    corners = [(0.0, begin), (up, hot), (turn, hot), (turn + down, warm), (end, warm)]
    kept = [corners[0], *(late for early, late in pairwise(corners) if late[0] > early[0])]
    return ended(Programme(tuple(time for time, _ in kept), tuple(kelvin for _, kelvin in kept)), end)


def _sets(first: float, last: float, grain: float) -> list[float]:
    """Set points from `first` to `last` [K], so far apart, both ends included."""
    steps = int(abs(last - first) / grain)
    return [*(first + grain * n * (1 if last > first else -1) for n in range(steps + 1)), last]
