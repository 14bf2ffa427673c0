"""A first plan within a second, and better ones for as long as one lets it; counted in trials."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.errors import StopError
from sagger.goods.schedule import PlanningEffort, Schedule, Standing
from sagger.goods.workload import Workload
from sagger.stations.schedule import ranking
from sagger.stations.schedule.moving import COST, FREE, KEPT, Hunt, search
from sagger.stations.schedule.packed import Asked, CellRows, Working, asked, cell_rows
from sagger.stations.schedule.placing import place_all
from sagger.stations.schedule.standing import sequence, set_out
from sagger.stations.schedule.worth import rank, schedule_of
from sagger.tick import Tick

HELD_BACK = (0, 64, 192)  # quarters a new load is held back in the first plans
JOIN = 16  # quarters later that a heat joined may start than one of its own would
BLOCK = 200  # trials between two looks at whether somebody says enough
LAST = 0.15  # share of the trials that keep the cost and widen the slack


class Packed(NamedTuple):
    """A workload and what stands in it, ready for the compiled part."""

    work: Workload
    stands: Standing
    asked: Asked
    cell: CellRows
    begun: Working


class Placing(NamedTuple):
    """An order of placing, with the knobs of every build, and what comes of it."""

    sequence: ndarray
    knobs: ndarray
    cost: int
    slack: int
    rule: str


def pack(work: Workload, stands: Standing) -> Packed:
    """Ready for the compiled part."""
    return Packed(work, stands, asked(work), cell_rows(work, stands.now), set_out(work, stands))


def made(packed: Packed, order: Placing) -> Schedule:
    """The schedule that an order of placing gives."""
    return schedule_of(packed.cell, _placed(packed, order.sequence, order.knobs))


def first(packed: Packed) -> Placing:
    """The best of some rules, each holding loads back for a while or not.

    Raises
    ------
    StopError
        If a build finds no place before the calendar ends.
    """
    best: Placing | None = None
    for rule, order in ranking.orders(packed.work).items():
        builds, _ = sequence(packed.work, packed.stands, order)
        for patience in HELD_BACK:
            knobs = np.tile(np.array([patience, JOIN], np.int64), (len(order), 1))
            cost, slack = tried(packed, builds, knobs)
            if best is None or (cost, -slack) < (best.cost, -best.slack):
                best = Placing(builds, knobs, cost, slack, rule)
    if best is None:
        raise StopError("there is nothing to plan")
    return best


def tried(packed: Packed, builds: ndarray, knobs: ndarray) -> tuple[int, int]:
    """Cost and slack of an order of placing."""
    cost, slack = rank(packed.asked, packed.cell, _placed(packed, builds, knobs))
    return int(cost), int(slack)


def _placed(packed: Packed, builds: ndarray, knobs: ndarray) -> Working:
    working = _copied(packed.begun)
    done = place_all(packed.asked, packed.cell, working, builds, knobs)
    if done < len(builds):
        raise StopError(
            f"build {builds[done]} finds no place before the calendar ends; look at its box, printer, "
            f"furnace and powder, and at the limits of waiting"
        )
    return working


def _copied(source: Working) -> Working:
    """Another state like this one, in arrays of its own."""
    whole, parts, at = source.whole.copy(), {}, 0
    for name in Working._fields[:-1]:
        part = getattr(source, name)
        parts[name] = whole[at : at + part.size].reshape(part.shape)
        at += part.size
    return Working(**parts, whole=whole)


def searched(packed: Packed, start: Placing, effort: PlanningEffort, tick: Tick) -> tuple[Placing, int]:
    """A better order by moving builds, and how many were tried; slack is widened with the last of them."""
    if not len(start.sequence):
        return start, 0
    working = _copied(packed.begun)
    _, begun = sequence(packed.work, packed.stands, start.sequence)
    shelf = np.zeros((KEPT, len(working.whole)), np.int64)
    shelf[0] = working.whole
    hunt = Hunt(
        sequence=start.sequence.copy(),
        knobs=start.knobs.copy(),
        tried=start.sequence.copy(),
        turned=start.knobs.copy(),
        shelf=shelf,
        luck=np.array([effort.seed], np.uint64),
        marks=np.array([start.cost, start.slack, 0, 0, begun, 1], np.int64),
    )
    done, wide = 0, round(effort.trials * (1 - LAST))
    for _ in tick.until_enough(range(0, effort.trials, BLOCK)):
        hunt.marks[FREE] = done < wide
        step = min(BLOCK, effort.trials - done)
        search(packed.asked, packed.cell, working, hunt, step)
        done += step
        tick.best = f"cost {hunt.marks[COST]}"
        tick.say("moving builds", done, effort.trials)
    return Placing(hunt.sequence, hunt.knobs, int(hunt.marks[0]), int(hunt.marks[1]), start.rule), done
