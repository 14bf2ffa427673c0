"""Bring a finished filling lower by pressing it under a falling ceiling and taking the overlaps out again."""

from __future__ import annotations

import numpy as np

from sagger.geometry.squeeze import Allowed, Pile, Plan, Tables, settle, squeeze, tables
from sagger.stations.nest.fill import Desk, Lie
from sagger.stations.nest.search import Found
from sagger.tick import Tick, silent

_BLOCK = 60  # rounds between two looks at the clock of the caller
_STEPS = (0.01, 0.005, 0.02, 0.0025)  # how far the ceiling lies below the best top, by turns
_PATIENCE = 3  # blocks without gain before the best pile is taken up again
_POSES = 60  # poses in all that shapes may turn between
_TRIES = 40  # places drawn a move
_WORK = 150_000  # blocks times the square of the number of pieces


def improved(found: Found, seed: int, blocks: int | None = None, *, tick: Tick = silent) -> Found:
    """The same pieces in a lower box, if `blocks` of 60 rounds find one; otherwise as they were.

    Without `blocks` the effort is a few seconds, counted by the number of pieces.
    """
    shared, count = found.shared, len(found.lies)
    blocks = min(60, _WORK // max(1, count) ** 2) if blocks is None else blocks
    if count < 2 or blocks == 0 or found.rest:
        return found
    pose, y, x, z = np.array(found.lies, dtype=np.int64).T.copy()
    best = Pile(pose, y, x, z, np.ones((count, count)))
    may, used = _allowed(shared, best)
    known = tables(shared.known, used)
    low, order = np.zeros_like(z), np.zeros_like(z)
    top = settle(known, best, may.free, low, order)
    best.z[:] = low
    now, idle = _again(best), 0
    for block in tick.over(range(blocks), "pressing the nest lower"):
        plan = Plan(_STEPS[block % len(_STEPS)], _TRIES, _BLOCK, seed + block)
        new = squeeze(known, now, best, top, may, plan)
        idle = 0 if new < top else idle + 1
        top = new
        if idle >= _PATIENCE:
            now, idle = _again(best), 0
    return _as_found(found, best, known, may)


def _allowed(shared: Desk, best: Pile) -> tuple[Allowed, np.ndarray]:
    """For each part the poses its pieces have now and some more; and all of these."""
    kind = np.array([shared.forms[pose].kind for pose in best.pose])
    each = max(1, _POSES // len(np.unique(kind)))
    mine = []
    for number, some in enumerate(shared.kinds):
        now = np.unique(best.pose[kind == number])
        more = np.setdiff1d(some, now)[: max(0, each - len(now))] if len(now) else some[:0]
        mine.append(np.sort(np.concatenate([now, more])))
    first = np.cumsum([0, *(len(some) for some in mine)])
    poses = np.concatenate(mine)
    return Allowed(kind, first, poses, np.ones(len(kind), dtype=bool)), poses


def _again(best: Pile) -> Pile:
    count = len(best.pose)
    return Pile(best.pose.copy(), best.y.copy(), best.x.copy(), best.z.copy(), np.ones((count, count)))


def _as_found(found: Found, best: Pile, known: Tables, may: Allowed) -> Found:
    """The pile as a filling, pieces in the order in which they can be let down."""
    z, order = np.zeros_like(best.z), np.zeros_like(best.z)
    top = settle(known, best, may.free, z, order)
    lies = tuple(Lie(int(best.pose[a]), int(best.y[a]), int(best.x[a]), int(z[a])) for a in order)
    return found._replace(rank=(*found.rank[:-1], float(top)), lies=lies)
