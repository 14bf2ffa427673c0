"""Bring a finished filling lower by pressing it under a falling ceiling and taking the overlaps out again."""

from __future__ import annotations

from collections import Counter

import numpy as np

from sagger.geometry.pile.lowering.settling import Pile, settle, tables
from sagger.geometry.pile.lowering.squeeze import Allowed, Descent, squeeze
from sagger.stations.nest.fill import Desk, PlacedPose, desk
from sagger.stations.nest.search import RankedFilling
from sagger.tick import Tick, silent

_STEPS = (0.01, 0.005, 0.02, 0.0025)  # how far the ceiling lies below the best top, by turns
_CALM = 60  # with more pieces than this the steps are smaller, else overlaps spread through the whole pile
_PATIENCE = 3  # blocks without gain before the best pile is taken up again
_POSES = 60  # poses in all that shapes may turn between
_TRIES = 40  # places drawn a move
_SHARES = (1, 2, 3, 4, 6, 8)  # columns may be narrower than before by these
_TABLE_WORK = 6e9  # steps in making tables
_TABLE_BYTES = 300e6  # memory of tables
_MORE_ROUNDS, _MORE_WORK = 30, 300  # asked rounds for which tables may cost once more, and up to which
_LONGEST = 40  # blocks at most
_WORK = 3_000_000  # blocks times the square of the number of pieces


def improved(
    filling: RankedFilling, seed: int, blocks: int | None = None, *, more: int = 0, tick: Tick = silent
) -> RankedFilling:
    """The same pieces in a lower box, if `blocks` of up to 60 rounds find one; otherwise as they were.

    Without `blocks` the effort is a few seconds, counted by the number of pieces, and `more` beyond it. A
    person may say enough at any time and gets the best found so far.
    """
    count = len(filling.lies)
    blocks = min(_LONGEST, _WORK // max(1, count) ** 2) + more if blocks is None else blocks
    if count < 2 or blocks == 0 or filling.rest:
        return filling
    shared, best = _finer(filling, 1 + min(more, _MORE_WORK) / _MORE_ROUNDS, tick)
    may, known = _allowed(shared, best), tables(shared.known, np.arange(len(shared.forms)))
    low, order = np.zeros_like(best.z), np.zeros_like(best.z)
    top = settle(known, best, may.free, low, order)
    if top < 0:
        return filling
    best.z[:] = low
    now, idle = _again(best), 0
    for block in tick.until_enough(range(blocks)):
        tick.best = f"{top * 1e-3:.1f} mm high"
        tick.say(f"pressing the nest lower, now {top * 1e-3:.1f} mm", block, blocks)
        step = _STEPS[block % len(_STEPS)] * min(1.0, _CALM / count)
        plan = Descent(step, _TRIES, int(np.clip(6000 // count, 12, 60)), seed + block)
        new = squeeze(known, now, best, top, may, plan)
        idle = 0 if new < top else idle + 1
        top = new
        if idle >= _PATIENCE:
            now, idle = _again(best), 0
    settle(known, best, may.free, low, order)
    lies = [PlacedPose(int(best.pose[a]), int(best.y[a]), int(best.x[a]), int(low[a])) for a in order]
    real = tuple(lie for lie in lies if shared.forms[lie.pose].kind >= 0)
    return filling._replace(rank=(*filling.rank[:-1], float(top)), shared=shared, lies=real)


def _finer(filling: RankedFilling, effort: float, tick: Tick) -> tuple[Desk, Pile]:
    """The pile over columns as narrow as the tables allow, what is held first, and a desk with its poses."""
    old, moving = filling.shared, filling.lies[len(filling.shared.held.stills) :]
    used = Counter(lie.pose for lie in moving)
    kinds = sorted({old.forms[pose].kind for pose in used})
    keep = set(used)
    for kind in kinds:
        often = sorted(old.kinds[kind].tolist(), key=lambda pose: -used[pose])
        keep |= set(often[: max(1, _POSES // len(kinds))])
    new = {pose: number for number, pose in enumerate(sorted(keep))}
    lying = [*new, *(lie.pose for lie in old.first)]
    area = sum(old.forms[pose].fields.reach.size for pose in lying)
    share = max(m for m in _SHARES if m == 1 or _affordable(area * m**2, len(lying), effort))
    turns = [(old.forms[pose].kind, old.forms[pose].turn) for pose in new]
    shared = desk(old.greens, turns, old.room, old.column / share, old.held, tick=tick)
    rows = [
        *shared.first,
        *(PlacedPose(new[lie.pose], lie.y * share, lie.x * share, lie.z) for lie in moving),
    ]
    pose, y, x, z = np.array(rows, dtype=np.int64).T.copy()
    return shared, Pile(pose, y, x, z, np.ones((len(rows), len(rows))))


def _affordable(area: int, poses: int, effort: float) -> bool:
    """True if tables of poses with this many columns in all cost neither much time nor much memory."""
    return area**2 <= _TABLE_WORK * effort and 32 * poses * area <= _TABLE_BYTES * min(effort, 3)


def _allowed(shared: Desk, best: Pile) -> Allowed:
    """Each piece may take every pose of its part; what is held may not move."""
    kind = np.array([shared.forms[pose].kind for pose in best.pose])
    first = np.cumsum([0, *(len(some) for some in shared.kinds)])
    free = np.arange(len(kind)) >= len(shared.first)
    return Allowed(kind, first, np.concatenate(shared.kinds), free)


def _again(best: Pile) -> Pile:
    count = len(best.pose)
    return Pile(best.pose.copy(), best.y.copy(), best.x.copy(), best.z.copy(), np.ones((count, count)))
