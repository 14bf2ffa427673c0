"""Orders in which builds are placed for a first plan: by coming, by due date, by apparent tardiness cost."""

from __future__ import annotations

import numpy as np
from numpy import ndarray

from sagger.goods.workload import NOT_FIRED, Workload

LOOK_AHEAD = (0.5, 2.0)  # of apparent tardiness cost, in mean ways of a build; usual 0.5 to 4 (from memory)
BENCH_STRETCH = 3  # a bench hour takes about so many hours of the calendar in a one-shift week
PACE_SHARE = 5  # builds pass through a cell about so many times as fast as one build alone


def urgency(weight: ndarray, length: ndarray, slack: ndarray, look_ahead: float, mean: float) -> ndarray:
    """Apparent tardiness cost of jobs that could begin now, by which the greatest goes first.

    Parameters
    ----------
    weight, length : ndarray
        Of the jobs; any one unit of time.
    slack : ndarray
        Due date less length less now.
    look_ahead : float
        In mean lengths.
    mean : float
        Mean length.

    Source
    ------
    Vepsalainen and Morton, Management Science 33 (1987); from memory.
    """
    return np.asarray(weight / length * np.exp(-np.maximum(0.0, slack) / (look_ahead * mean)))


def ways(work: Workload) -> ndarray:
    """About how long each build takes with the cell to itself [quarters]."""
    builds, portions = work.builds, work.portions
    fired = portions.family != NOT_FIRED
    firing = np.zeros(len(builds.release), np.int64)
    np.maximum.at(firing, portions.build[fired], work.furnaces.length[portions.family[fired]])
    way = builds.printing + work.ovens.length[builds.programme] + BENCH_STRETCH * builds.hands
    return np.asarray(way + firing)


def urgent(work: Workload) -> tuple[ndarray, ndarray]:
    """Due date and weight of each build: the earliest and the sum of its orders, int64 (n,)."""
    portions, wishes = work.portions, work.wishes
    due = np.full(len(work.builds.release), np.iinfo(np.int64).max // 4)
    np.minimum.at(due, portions.build, wishes.due[portions.order])
    pairs = np.unique(np.stack((portions.build, portions.order)), axis=1)
    weight = np.zeros(len(due), np.int64)
    np.add.at(weight, pairs[0], wishes.weight[pairs[1]])
    return due, weight


def by_coming(work: Workload) -> ndarray:
    return np.argsort(work.builds.release, kind="stable")


def by_due(work: Workload) -> ndarray:
    return np.argsort(urgent(work)[0], kind="stable")


def by_urgency(work: Workload, look_ahead: float) -> ndarray:
    """Builds by apparent tardiness cost over their whole way, at an assumed pace of the cell."""
    due, weight = urgent(work)
    way, release = ways(work).astype(float), work.builds.release
    mean = way.mean()
    pace, now = mean / PACE_SHARE, 0.0
    left, order = np.ones(len(way), bool), []
    for _ in range(len(way)):
        here = left & (release <= now)
        if not here.any():
            here = left & (release == release[left].min())
        value = np.where(here, urgency(weight, way, due - way - now, look_ahead, mean), -1.0)
        best = int(np.argmax(value))
        now = max(now, float(release[best])) + pace
        left[best] = False
        order.append(best)
    return np.array(order, np.int64)


def orders(work: Workload) -> dict[str, ndarray]:
    """Every order that a first plan is tried with, by the name of its rule."""
    tried = {f"urgency, look-ahead {ahead:g}": by_urgency(work, ahead) for ahead in LOOK_AHEAD}
    return {"due date": by_due(work), **tried}
