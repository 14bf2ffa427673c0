"""Bench work in a constraint model: intervals on a crew's work clock, with begin and end on the calendar."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from sagger.goods.shift import WorkClock
from sagger.goods.workload import Crews
from sagger.physics import workclock

if TYPE_CHECKING:
    from ortools.sat.python import cp_model


class Bench(NamedTuple):
    """Bench work of one build."""

    begins: cp_model.IntVar  # calendar
    ends: cp_model.IntVar  # calendar
    work: dict[int, cp_model.IntVar]  # begin on the work clock, by crew
    on: dict[int, cp_model.IntVar]  # by crew
    rows: dict[int, cp_model.IntervalVar]  # by crew


def bench_work(
    model: cp_model.CpModel, crews: Crews, task: tuple[list[int], int], limits: tuple[int, int]
) -> Bench:
    """Work of some length that one of some crews does without a break, but for the night.

    Parameters
    ----------
    task : tuple of list of int, int
        Crews that can do it, and its length [quarters].
    limits : tuple of 2 int
        Moments between which it begins.
    """
    able, hands = task
    begins, ends = (model.new_int_var(limits[0], limits[1] + 4 * 672, "") for _ in range(2))
    work, on, rows = {}, {}, {}
    for crew in able:
        clock = crews.clocks[crew]
        low = int(workclock.worked(clock, min(limits[0], len(clock.worked) - 1)))
        high = max(
            low,
            min(
                int(workclock.worked(clock, min(limits[1], len(clock.worked) - 1))),
                len(clock.moments) - hands - 1,
            ),
        )
        work[crew] = model.new_int_var(low, high, "")
        if len(able) == 1:
            rows[crew] = model.new_fixed_size_interval_var(work[crew], hands, "")
            _on_calendar(model, clock, (work[crew], low, high), begins, None)
            _on_calendar(
                model, clock, (work[crew] + (hands - 1), low + hands - 1, high + hands - 1), ends - 1, None
            )
            continue
        on[crew] = model.new_bool_var("")
        rows[crew] = model.new_optional_fixed_size_interval_var(work[crew], hands, on[crew], "")
        _on_calendar(model, clock, (work[crew], low, high), begins, on[crew])
        _on_calendar(
            model, clock, (work[crew] + (hands - 1), low + hands - 1, high + hands - 1), ends - 1, on[crew]
        )
    if on:
        model.add_exactly_one(on.values())
    return Bench(begins, ends, work, on, rows)


def _on_calendar(
    model: cp_model.CpModel,
    clock: WorkClock,
    work: tuple[cp_model.LinearExprT, int, int],
    moment: cp_model.LinearExprT,
    on: cp_model.IntVar | None,
) -> None:
    """`moment` is the moment of the calendar of a quarter of working time between two bounds.

    One literal for each stretch of attendance, linear within it: the relaxation sees nights and weekends.
    """
    begun, low, high = work
    rows = stretches(clock, low, high)
    here = [model.new_bool_var("") for _ in rows]
    model.add_exactly_one(here)
    inside = model.new_int_var(0, max(last - first for first, last, _ in rows), "")
    pairs = list(zip(here, rows, strict=True))
    model.add(inside <= sum((last - first) * b for b, (first, last, _) in pairs))
    model.add(begun == sum(first * b for b, (first, _, _) in pairs) + inside)
    placed = model.add(moment == sum(at * b for b, (_, _, at) in pairs) + inside)
    if on is not None:
        placed.only_enforce_if(on)


def stretches(clock: WorkClock, low: int, high: int) -> list[tuple[int, int, int]]:
    """First and last quarter of working time of each stretch of attendance from `low` to `high`, and the
    moment of the first."""
    moments = clock.moments[low : high + 1]
    breaks = np.flatnonzero(np.diff(moments) != 1) + 1
    firsts = np.concatenate(([0], breaks))
    lasts = np.concatenate((breaks - 1, [len(moments) - 1]))
    return [(low + int(a), low + int(b), int(moments[a])) for a, b in zip(firsts, lasts, strict=True)]
