"""Better plans by moving builds in the order in which they are placed. Compiled; counted in trials.

A trial moves a few builds by a few places, generates anew and is kept if it is not worse. States along the
order are kept, so that only what comes after the first change is placed again.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.compiled import lean
from sagger.stations.schedule.loading import JOIN, PATIENCE
from sagger.stations.schedule.packed import Asked, CellRows, Working
from sagger.stations.schedule.placing import place_build
from sagger.stations.schedule.worth import rank

REACH = 12  # places a build is moved by, at most
KEPT = 24  # states kept along the order
PATIENCES = np.array([0, 48, 96, 192, 288], np.int64)  # quarters
JOINS = np.array([0, 16, 48, 96], np.int64)
COST, SLACK, KNOWN, TRIALS, BEGUN, FREE = 0, 1, 2, 3, 4, 5  # of `marks`


class Hunt(NamedTuple):
    """What a search stands at."""

    sequence: ndarray  # int64 (n,): the best order so far
    knobs: ndarray  # int64 (n, 2): of every build
    tried: ndarray  # as `sequence`
    turned: ndarray  # as `knobs`
    shelf: ndarray  # int64 (KEPT, ...): states of the best order after so many places
    luck: ndarray  # uint64 (1,)
    marks: ndarray  # int64 (6,): cost and slack of the best; states of `shelf` that hold; trials so far;
    # builds at the beginning of the order that are begun; whether slack may be lost at the same cost


@lean
def draw(luck: ndarray, most: int) -> int:
    """A whole number from 0 to most - 1; the same numbers everywhere.

    Source
    ------
    SplitMix64 (Steele, Lea and Flood, 2014; from memory).
    """
    luck[0] += np.uint64(0x9E3779B97F4A7C15)
    mixed = luck[0]
    mixed = (mixed ^ (mixed >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    mixed = (mixed ^ (mixed >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    mixed = mixed ^ (mixed >> np.uint64(31))
    return int(np.int64((mixed >> np.uint64(1)) % np.uint64(most)))


@lean
def search(asked: Asked, cell: CellRows, working: Working, hunt: Hunt, trials: int) -> None:
    """Try so many changes of the order; `hunt` holds the best, `working` whatever was tried last."""
    length = len(hunt.sequence)
    for _ in range(trials):
        hunt.marks[TRIALS] += 1
        first = _changed(hunt)
        cost, slack = _generated(asked, cell, working, hunt, first)
        alike = cost == hunt.marks[COST] and (hunt.marks[FREE] or slack >= hunt.marks[SLACK])
        if cost < hunt.marks[COST] or alike:
            hunt.marks[COST], hunt.marks[SLACK] = cost, slack
            for place in range(first, length):
                build = hunt.tried[place]
                hunt.sequence[place] = build
                for knob in range(2):
                    hunt.knobs[build, knob] = hunt.turned[build, knob]
            hunt.marks[KNOWN] = min(hunt.marks[KNOWN], first * KEPT // length)


@lean
def _changed(hunt: Hunt) -> int:
    """Another order in `tried`, or other knobs in `turned`; the first place that differs."""
    length = len(hunt.sequence)
    for place in range(length):
        build = hunt.sequence[place]
        hunt.tried[place] = build
        for knob in range(2):
            hunt.turned[build, knob] = hunt.knobs[build, knob]
    first = length
    for _ in range(1 + max(0, draw(hunt.luck, 4) - 1)):
        source = draw(hunt.luck, length)
        build = hunt.tried[source]
        kind = draw(hunt.luck, 8)
        if kind == 0:
            hunt.turned[build, PATIENCE] = PATIENCES[draw(hunt.luck, len(PATIENCES))]
        elif kind == 1:
            hunt.turned[build, JOIN] = JOINS[draw(hunt.luck, len(JOINS))]
        else:
            low, high = (0, hunt.marks[BEGUN]) if source < hunt.marks[BEGUN] else (hunt.marks[BEGUN], length)
            target = min(high - 1, max(low, source + draw(hunt.luck, 2 * REACH + 1) - REACH))
            step = 1 if target > source else -1
            for place in range(source, target, step):
                hunt.tried[place] = hunt.tried[place + step]
            hunt.tried[target] = build
            first = min(first, target)
        first = min(first, source)
    return first


@lean
def _generated(asked: Asked, cell: CellRows, working: Working, hunt: Hunt, first: int) -> tuple[int, int]:
    """Cost and slack of the order in `tried`, from the last state kept before the first change."""
    length = len(hunt.sequence)
    state = min(hunt.marks[KNOWN], first * KEPT // length)
    for at in range(len(working.whole)):
        working.whole[at] = hunt.shelf[state, at]
    for place in range(state * length // KEPT, length):
        if place <= first and state < KEPT - 1 and place == (state + 1) * length // KEPT:
            state += 1
            if state > hunt.marks[KNOWN]:
                for at in range(len(working.whole)):
                    hunt.shelf[state, at] = working.whole[at]
                hunt.marks[KNOWN] = state
        if not place_build(asked, cell, working, hunt.tried[place], hunt.turned):
            return int(cell.horizon) << 20, 0
    return rank(asked, cell, working)
