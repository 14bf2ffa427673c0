"""A debinding stage that is as short as the same safety margin allows: proposed, not run."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from sagger.errors import LawError
from sagger.goods.debinding import DebindingCourse
from sagger.goods.furnace import Furnace
from sagger.goods.powder import Segment
from sagger.physics.burnout import burnout_pace
from sagger.stations.sinter.debind_wall import BinderWall, course, outside, stage_end
from sagger.stations.sinter.path import ROOM, path

MARKS = (0.003, 0.03, 0.15, 0.35, 0.6, 0.8, 0.92, 0.98)  # shares gone at which the proposal changes its rate
TRIES = 12  # to bring what the straight stretches do below the bounds
WORTH = 0.05  # share of the stage below which a proposal is not worth a trial
DIGITS = 2  # of a heating rate, rounded down


def proposal(
    one: BinderWall,
    programme: tuple[Segment, ...],
    planned: DebindingCourse,
    allowed: float,
    heating: float,
    furnace: Furnace,
) -> tuple[tuple[Segment, ...], DebindingCourse | None]:
    """The debinding stage that keeps peak pressure and burnout rate of the planned one in the least time.

    Parameters
    ----------
    one : Wall
        The thickest.
    programme : tuple of Segment
        What the furnace runs.
    planned : Course
        What that does to the wall. Where it exceeds the pressure allowed, the allowed one is kept.
    allowed : float
        Overpressure [Pa].
    heating : float
        Highest heating rate [K/s].

    Returns
    -------
    tuple of Segment, Course or None
        Empty and None if it saves under 5 % and the planned one keeps the pressure allowed. End and last hold
        stay as they are: they are there for carbon, of which the law knows nothing.
    """
    last = stage_end(programme)
    stage = programme[: last + 1]
    around = min(outside(each) for each in stage)
    pressure = min(planned.overpressure, allowed)
    if pressure <= 0 or planned.loss <= 0:
        return (), None
    bound = burnout_pace.Bound(
        planned.loss, burnout_pace.pressed(pressure, one.half, one.binder, one.flow, around)
    )
    tight = 1.0
    for _ in range(TRIES):
        try:
            made = _stage(one, stage, heating, bound.times(tight))
        except LawError:
            return (), None
        debound = course(one, path(made, furnace), made)
        over = max(debound.loss / planned.loss, debound.overpressure / pressure)
        if over <= 1 and debound.gone >= min(planned.gone, 0.999):
            worth = debound.time < (1 - WORTH) * planned.time or planned.overpressure > allowed
            return (made, debound) if worth else ((), None)
        tight *= 0.98 / max(over, 1.0)
    return (), None


def _stage(
    one: BinderWall, stage: Sequence[Segment], heating: float, bound: burnout_pace.Bound
) -> tuple[Segment, ...]:
    """The quickest path in straight stretches, its rates rounded down and its corners to whole degrees."""
    end = stage[-1].target
    pace = burnout_pace.quickest(ROOM, end, heating, bound, one.energy, one.frequency)
    first = int(np.argmax(np.diff(pace.time) * heating > 1.01 * np.diff(pace.temperature)))
    marks = [first, *(int(np.searchsorted(pace.gone, mark)) for mark in MARKS)]
    marks = sorted({mark for mark in marks if first <= mark < len(pace.time) - 1})
    corners = [(0.0, ROOM), *((pace.time[mark], pace.temperature[mark]) for mark in marks)]
    corners.append((pace.time[-1], end))
    made: list[Segment] = []
    for (time, here), (after, there) in pairwise(corners):
        if round(there) <= round(here):
            continue
        like = next(each for each in stage if each.target >= there - 1e-6 or each is stage[-1])
        rate = _down((there - here) / (after - time) * 60) / 60
        target = there if there == end else round(there - 273.15) + 273.15
        if made and abs(made[-1].rate - rate) < 1e-9 and made[-1].atmosphere == like.atmosphere:
            made.pop()
        made.append(dataclasses.replace(like, rate=rate, target=target, hold=0.0, **OWN))
    made[-1] = dataclasses.replace(made[-1], hold=stage[-1].hold)
    return tuple(made)


OWN = {"source": "worked", "where": "proposal, rate-controlled burnout", "standing": "worked"}


def _down(value: float) -> float:
    """Rounded down to two digits."""
    step = 10.0 ** (math.floor(math.log10(value)) - DIGITS + 1)
    return math.floor(value / step + 1e-9) * step
