"""A first layout: shapes laid one after the other at the lowest place of the whole box that is free."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.compiled import checked
from sagger.geometry.pile.through.crowd import ONCE, Crowd, Turns, measure
from sagger.geometry.pile.through.moving import Window, best_place
from sagger.geometry.pile.through.tables import PairTables

_AWAY = 1 << 40  # height of a shape that is not laid yet
_HEAVY = 1 << 12  # weight of a pair that must not meet, beside one step of height


class LayRule(NamedTuple):
    tried: int  # poses of each shape
    high: int  # of the box, enough for all [rises]
    seed: int


@checked
def lay(t: PairTables, c: Crowd, may: Turns, order: ndarray, by: LayRule) -> None:
    """Lay shapes in an order, each in the best of some poses drawn by lot."""
    np.random.seed(by.seed)
    c.weight[:] = _HEAVY
    for i in order:
        c.at[i, 2] = _AWAY
    for i in order:
        mine = may.poses[may.first[may.kind[i]] : may.first[may.kind[i] + 1]]
        best = 1 << 60
        drawn = np.random.permutation(mine.shape[0])[: by.tried]
        for k in drawn:
            pose = mine[k]
            window = Window(0, 0, 0, t.places[pose, 0], t.places[pose, 1], by.high - t.cells[pose, 2])
            place = best_place(t, c, i, pose, window, 1)
            if place.cost + t.cells[pose, 2] // 2 < best:
                best = place.cost + t.cells[pose, 2] // 2
                c.pose[i], c.at[i, 0], c.at[i, 1], c.at[i, 2] = pose, place.y, place.x, place.z
    c.weight[:] = ONCE
    measure(t, c)
