"""Many short courses from different starts, the best of which go on: on a coarse lattice, then on finer ones.

Effort is counted in table places, never timed, and courses do not know of each other; so the same seed gives
the same layout on any machine and any number of threads.
"""

from __future__ import annotations

import itertools
import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor, wait
from functools import partial
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.geometry.pile.through.crowd import Crowd, Turns, crowd, top
from sagger.geometry.pile.through.first_places import LayRule, lay
from sagger.geometry.pile.through.removal import LookRule, Trial, remove
from sagger.geometry.pile.through.resting import rested
from sagger.geometry.pile.through.tables import Lattice, Shapes, bytes_of, pair_tables, shapes, work_of
from sagger.stations.nest.pressing.course import Course, CourseGround, copied, pressed
from sagger.tick import Tick

_THREADS = max(1, min(2, os.cpu_count() or 1))
_EVERYWHERE = LookRule(whole=1.0, beside=0, above=0, shafts=0, shaft=0, turned=3, stride=2)
_AROUND = LookRule(whole=0.1, beside=4, above=8, shafts=4, shaft=24, turned=2, stride=2)
_FINELY = LookRule(whole=0.05, beside=4, above=8, shafts=2, shaft=16, turned=2, stride=2)
_STEPS = (0.02, 0.01, 0.003)  # of the ceiling: at the start, where it goes on, on finer lattices
_LUCK = 0.25  # spread of the logarithm of size by which pieces are ordered for a start
_SPARE = 3.0  # times the height that pieces would fill half: room for a start
_POSES_LAID = 4  # poses tried for each piece at a start
_REPAIR = 200  # rounds without gain until a start that was rounded to the lattice is given up
_WAIT_S = 0.1  # between two looks at whether a person said stop
_SHARES = (0.46, 0.16, 0.23, 0.15)  # of the effort: starts, the best of them, two finer lattices
_A_START = 50e6  # table places a piece below which a start is too short
_MOST_STARTS = 12
_MOST_BYTES = 500e6  # of tables of a finer lattice


AcceptRule = Callable[[ndarray, ndarray], bool]  # asked of poses at lower corners, float64 (n, 3) [mm]


class WholeBox(NamedTuple):
    """What is to be laid."""

    solids: list[ndarray]  # triangles of each pose, float64 (m, 3, 3), lower corner at the origin [mm]
    turns: Turns
    room: tuple[float, float, float]  # free lengths [mm]
    gap: float  # [mm]
    lifted: bool  # whether pairs must come apart straight upwards
    leaves: AcceptRule  # whether the box can be emptied as asked
    apart: AcceptRule  # whether the gap is kept
    around: bool = False  # whether to look around pieces from the start, on one lattice that is fine already


class Placement(NamedTuple):
    """Shapes where they lie."""

    pose: ndarray  # int64 (n,)
    low: ndarray  # float64 (n, 3): lower corner along x, y and z [mm]
    top: float  # [mm]


class RaceEffort(NamedTuple):
    """How much is tried, in table places."""

    starts: int
    first: int  # of each start
    kept: int  # starts that go on
    second: int  # of each of them
    finer: tuple[tuple[int, int], ...]  # on lattices twice as fine each time: layouts, and places of each


def effort(count: int, work: float, *, around: bool = False) -> RaceEffort:
    """How so many table places are shared out for so many pieces; `around`: see `WholeBox`."""
    if around:
        return RaceEffort(2, int(0.4 * work), 1, int(0.2 * work), ())
    starts = int(np.clip(_SHARES[0] * work / (_A_START * count), 2, _MOST_STARTS))
    first, second, *finer = (share * work for share in _SHARES)
    going_on = (starts + 2) // 3
    layouts = (starts + 3) // 4, (starts + 5) // 6
    return RaceEffort(
        starts, int(first / starts), going_on, int(second / going_on),
        tuple((some, int(share / some)) for some, share in zip(layouts, finer, strict=True)),
    )  # fmt: skip


class Watch:
    """What was found so far, and whether a person said enough."""

    def __init__(self, tick: Tick, begun: Placement):
        self.tick, self.best, self.enough = tick, begun, False
        self.seen = begun.top  # of the lowest layout that some course has reached [mm]

    def reach(self, top_mm: float) -> None:
        """A course has come as low as this."""
        self.seen = min(self.seen, top_mm)

    def several(self, deeds: Sequence[Callable[[], Crowd | None]], doing: str) -> list[Crowd]:
        """What the deeds give, in their order, without those that give nothing; done on all threads."""
        with ThreadPoolExecutor(_THREADS) as pool:
            waiting = [pool.submit(deed) for deed in deeds]
            try:
                for _ in self.tick.until_enough(itertools.count()):
                    done, left = wait(waiting, timeout=_WAIT_S)
                    self.tick.best = f"{self.seen:.1f} mm high"
                    self.tick.say(f"{doing}, now {self.seen:.1f} mm", len(done), len(waiting))
                    if not left:
                        break
                else:
                    self.enough = True
            except BaseException:
                self.enough = True
                raise
            return [found for found in (one.result() for one in waiting) if found is not None]


class _Level(NamedTuple):
    """One lattice."""

    shapes: Shapes
    ground: CourseGround


def raced(
    job: WholeBox, begun: Placement, lattice: Lattice, plan: RaceEffort, seed: int, tick: Tick
) -> Placement:
    """The lowest placement found, at exact heights; `begun` if none is lower.

    Parameters
    ----------
    begun : Placement
        Free of overlap and accepted; shapes that may not move lie at whole steps of the lattice.
    """
    watch, luck = Watch(tick, begun), np.random.default_rng(seed)
    if begun.top <= _least_top(job) + 1e-6:
        return begun
    level = _level(job, lattice, watch)
    seeds = luck.integers(1 << 30, size=plan.starts).tolist()
    looks, step = (_AROUND, _STEPS[1]) if job.around else (_EVERYWHERE, _STEPS[0])
    courses = [Course(looks, step, plan.first, each) for each in seeds]
    starts = [partial(_started, job, level, begun, n, course) for n, course in enumerate(courses)]
    layouts = _noted(job, level, watch, watch.several(starts, "pressing from many starts"))
    again = _going_on(level, layouts[: plan.kept], looks, (_STEPS[1], plan.second), luck)
    layouts = _noted(job, level, watch, layouts + watch.several(again, "pressing the best"))
    for count, work in plan.finer:
        half = _finer(level, job.gap, count * work)
        if watch.enough or half is None or watch.best.top <= _least_top(job) + 1e-6:
            break
        coarse, level = level.shapes.lattice, _level(job, half, watch)
        on = [
            crowd(level.ground.tables, one.pose, _moved_over(level, one, coarse)) for one in layouts[:count]
        ]
        again = _going_on(level, on, _FINELY, (_STEPS[2], work), luck)
        layouts = _noted(job, level, watch, watch.several(again, "pressing the best more finely"))
    return watch.best


def _least_top(job: WholeBox) -> float:
    """Top that no layout can undercut: of the shape that is highest even in its lowest pose [mm]."""
    heights = np.array([one[:, :, 2].max() for one in job.solids])
    first, poses = job.turns.first, job.turns.poses
    return max(
        float(heights[poses[first[kind] : first[kind + 1]]].min()) for kind in np.unique(job.turns.kind)
    )


def _finer(level: _Level, gap: float, work: int) -> Lattice | None:
    """The lattice halved; if tables get too large or cost more than the search only along z, or None."""
    step, rise = level.shapes.lattice
    for half in (Lattice(step / 2, rise / 2), Lattice(step, rise / 2)):
        fits = bytes_of(level.shapes.extents, half, gap) <= _MOST_BYTES
        if fits and work_of(level.shapes.extents, half, gap) <= work:
            return half
    return None


def _level(job: WholeBox, lattice: Lattice, watch: Watch) -> _Level:
    known = shapes(job.solids, lattice, job.gap)
    tables = pair_tables(known, job.room[:2], lifted=job.lifted, threads=_THREADS)
    kinds = np.unique(job.turns.kind)
    mine = [job.turns.poses[job.turns.first[kind] : job.turns.first[kind + 1]] for kind in kinds]
    lowest = max(int(tables.cells[poses, 2].min()) for poses in mine)

    def accept(now: Crowd) -> bool:
        return job.leaves(now.pose, _corners(lattice, now))

    def reach(top_steps: int) -> None:
        watch.reach(top_steps * lattice.rise)

    return _Level(known, CourseGround(tables, job.turns, lowest, accept, reach, lambda: watch.enough))


def _corners(lattice: Lattice, now: Crowd) -> ndarray:
    """Lower corners, float64 (n, 3) along x, y and z [mm]."""
    steps = np.array([lattice.step, lattice.step, lattice.rise])
    return np.asarray(now.at[:, [1, 0, 2]] * steps)


def _moved_over(level: _Level, layout: Crowd, coarse: Lattice) -> ndarray:
    """Places of a layout on a lattice that is finer by whole factors."""
    lattice = level.shapes.lattice
    across, up = round(coarse.step / lattice.step), round(coarse.rise / lattice.rise)
    at = layout.at * np.array([across, across, up])
    at[:, :2] = np.minimum(at[:, :2], level.ground.tables.places[layout.pose] - 1)
    return np.asarray(at)


def _started(job: WholeBox, level: _Level, begun: Placement, number: int, plan: Course) -> Crowd | None:
    """A course from the placement that was there (number 0), or from one laid by lot."""
    rounded = number == 0 and not job.around
    start = _rounded(job, level, begun, plan.seed) if rounded else _by_lot(job, level, begun, plan.seed)
    return None if start is None else pressed(level.ground, start, plan)


def _rounded(job: WholeBox, level: _Level, begun: Placement, seed: int) -> Crowd | None:
    """The placement on the lattice, what overlaps by rounding taken apart; None if that does not succeed."""
    lattice, tables = level.shapes.lattice, level.ground.tables
    steps = np.array([lattice.step, lattice.step, lattice.rise])
    at = np.round(begun.low / steps).astype(np.int64)[:, [1, 0, 2]]
    at[:, :2] = np.clip(at[:, :2], 0, tables.places[begun.pose] - 1)
    start = crowd(tables, begun.pose, at)
    ceiling = int(top(tables, start)) + 1
    outcome = remove(tables, start, job.turns, _EVERYWHERE, Trial(ceiling, _REPAIR, 1 << 60, seed))
    return copied(start) if outcome.least == 0 else None


def _by_lot(job: WholeBox, level: _Level, begun: Placement, seed: int) -> Crowd:
    """Pieces laid one after the other, the big ones rather first."""
    luck, tables = np.random.default_rng(seed), level.ground.tables
    filled = tables.cells.prod(axis=1)[begun.pose]
    floor = tables.places.max(axis=0)
    high = int(tables.cells[:, 2].max() * 2 + _SPARE * filled.sum() / floor.prod())
    size = np.log(filled) + luck.normal(0.0, _LUCK, len(filled))
    order = np.argsort(-size)
    start = crowd(tables, begun.pose, np.zeros((len(filled), 3), dtype=np.int64))
    still = np.flatnonzero(~job.turns.free)
    steps = np.array([level.shapes.lattice.step] * 2 + [level.shapes.lattice.rise])
    start.at[still] = np.round(begun.low[still] / steps).astype(np.int64)[:, [1, 0, 2]]
    lay(tables, start, job.turns, order[job.turns.free[order]], LayRule(_POSES_LAID, high, seed))
    return start


def _going_on(
    level: _Level, layouts: list[Crowd], looks: LookRule, plan: tuple[float, int], luck: np.random.Generator
) -> list[Callable[[], Crowd]]:
    """Courses from layouts; `plan`: first step of the ceiling, and table places of each."""
    seeds = luck.integers(1 << 30, size=len(layouts)).tolist()
    return [
        partial(pressed, level.ground, copied(one), Course(looks, *plan, seed))
        for one, seed in zip(layouts, seeds, strict=True)
    ]


def _noted(job: WholeBox, level: _Level, watch: Watch, crowds: list[Crowd]) -> list[Crowd]:
    """The layouts, the lowest first; the lowest of them that keeps all rules is entered where it is lower."""
    tables = level.ground.tables
    ordered = sorted(crowds, key=lambda one: int(top(tables, one)))
    for one in ordered:
        placed = _exact(level, one, job.turns.free)
        if placed.top >= watch.best.top:
            continue
        if placed.top <= job.room[2] + 1e-6 and _kept(job, one, placed):
            watch.best = placed
    return ordered


def _kept(job: WholeBox, layout: Crowd, placed: Placement) -> bool:
    """Whether nothing overlaps, and on the exact shapes the gap holds and the box can be emptied."""
    asked = placed.pose, placed.low
    return not layout.depth.any() and job.apart(*asked) and job.leaves(*asked)


def _exact(level: _Level, now: Crowd, free: ndarray) -> Placement:
    """The layout at exact heights."""
    low = _corners(level.shapes.lattice, now)
    low[:, 2] = rested(level.shapes, now, free)
    high = low[:, 2] + level.shapes.extents[now.pose, 2]
    return Placement(now.pose.copy(), low, float(high.max()))
