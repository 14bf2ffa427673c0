"""Take overlaps out of a pile of shapes by moving one at a time, under a ceiling that comes down.

Two shapes whose columns meet must lie one above the other; how far they are from that is their overlap, the
smaller of what the upper or the lower would have to give way. Heights are int64 micrometres.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.compiled import checked
from sagger.geometry.pile.lowering.letdown import disliked
from sagger.geometry.pile.lowering.nofit import CLEAR
from sagger.geometry.pile.lowering.settling import Pile, Tables, above, settle

_LIKED = 0.2  # of what a pose gives for a good place while a box is filled
_MANY = 512  # neighbours of one shape that can be looked at


class Allowed(NamedTuple):
    """Which poses each shape may take, and whether it may move at all."""

    kind: np.ndarray  # int64 (n,)
    first: np.ndarray  # int64 (kinds + 1,): shapes of kind k may take poses[first[k] : first[k + 1]]
    poses: np.ndarray  # int64
    free: np.ndarray  # bool (n,)


class Descent(NamedTuple):
    """How the ceiling comes down."""

    step: float  # share of the height by which the ceiling lies below the best top
    tries: int  # places drawn a move
    rounds: int
    seed: int  # the same seed gives the same moves


class MovedShape(NamedTuple):
    """The shape that is moved, and what it moves under."""

    who: int
    ceiling: int  # [um]
    bands: np.ndarray  # float64 (512, 3): written anew for each place that is looked at


@checked
def overlap(t: Tables, p: Pile, a: int, b: int) -> int:
    """What one of the pair would have to give way, up or down [um]; 0 if they do not overlap."""
    dy, dx = p.y[b] - p.y[a], p.x[b] - p.x[a]
    up = above(t, p.pose[a], p.pose[b], dy, dx)
    down = above(t, p.pose[b], p.pose[a], -dy, -dx)
    if up < CLEAR or down < CLEAR:
        return 0
    dz = p.z[b] - p.z[a]
    return int(max(0, min(up - dz, down + dz)))


@checked
def _bands(t: Tables, p: Pile, who: int, place: ndarray, bands: ndarray) -> int:
    """For each neighbour under or over a place: heights at which a shape would overlap it, and its weight."""
    count = 0
    front, back = place[1] - t.pad, place[1] + t.under[place[0], 0] + t.pad
    left, right = place[2] - t.pad, place[2] + t.under[place[0], 1] + t.pad
    for j in range(p.pose.shape[0]):
        if p.y[j] >= back or p.x[j] >= right or j == who or count == bands.shape[0]:
            continue
        if p.y[j] + t.under[p.pose[j], 0] <= front or p.x[j] + t.under[p.pose[j], 1] <= left:
            continue
        up = above(t, p.pose[j], place[0], place[1] - p.y[j], place[2] - p.x[j])
        if up < CLEAR:
            continue
        down = above(t, place[0], p.pose[j], p.y[j] - place[1], p.x[j] - place[2])
        if down >= CLEAR:
            bands[count, 0], bands[count, 1], bands[count, 2] = p.z[j] - down, p.z[j] + up, p.weight[who, j]
            count += 1
    return count


@checked
def _rate(t: Tables, p: Pile, shape: MovedShape, place: ndarray, best: float) -> float:
    """Least weighted overlap of a shape over the place (pose, y, x, z), inf if above `best`; sets its z."""
    bands, top = shape.bands, shape.ceiling - t.high[place[0]]
    count = _bands(t, p, shape.who, place, bands) if top >= 0 else -2
    least = np.inf
    for k in range(-2, 2 * count):
        z = 0.0 if k == -2 else top if k == -1 else bands[k // 2, k % 2]
        if z < 0 or z > top:
            continue
        cost = z * 1e-7 + _LIKED * disliked(t, place[0], place[1], place[2], z)
        for j in range(count):
            if bands[j, 0] < z < bands[j, 1]:
                cost += bands[j, 2] * min(bands[j, 1] - z, z - bands[j, 0])
                if cost >= best or cost >= least:
                    break
        if cost < least and cost < best:
            least, place[3] = cost, int(z)
    return least


@checked
def _draw(t: Tables, p: Pile, who: int, mine: ndarray, k: int, place: ndarray) -> None:
    """A place by lot: anywhere in the box for even k, near where the shape lies for odd."""
    pose = mine[np.random.randint(mine.shape[0])] if k % 4 < 2 else p.pose[who]
    y, x = np.random.randint(t.places[pose, 0]), np.random.randint(t.places[pose, 1])
    if k % 2:
        span = 1 + int(max(4, t.under[pose].max() // 16) * np.exp(np.random.random() * 2.5))
        y = min(max(p.y[who] + np.random.randint(-span, span + 1), 0), t.places[pose, 0] - 1)
        x = min(max(p.x[who] + np.random.randint(-span, span + 1), 0), t.places[pose, 1] - 1)
    place[0], place[1], place[2] = pose, y, x


@checked
def _slide(t: Tables, p: Pile, shape: MovedShape, place: ndarray, best: float) -> None:
    """Move a place along x and y as long as that lessens the overlap, in ever shorter steps."""
    step, other = max(4, t.under[place[0]].max() // 16), place.copy()
    while step > 0:
        moved = False
        for k in range(4):
            other[:] = place
            other[1 + k // 2] += step if k % 2 else -step
            if other[1] < 0 or other[2] < 0:
                continue
            if other[1] >= t.places[place[0], 0] or other[2] >= t.places[place[0], 1]:
                continue
            cost = _rate(t, p, shape, other, best)
            if cost < best:
                best, moved = cost, True
                place[:] = other
        if not moved:
            step //= 2


@checked
def _move(t: Tables, p: Pile, shape: MovedShape, mine: ndarray, tries: int) -> None:
    """Give one shape the place with the least overlap among some drawn by lot, then slide it downhill."""
    who = shape.who
    place, other = np.array((p.pose[who], p.y[who], p.x[who], p.z[who])), np.zeros(4, np.int64)
    best = _rate(t, p, shape, place, np.inf)
    for k in range(tries):
        _draw(t, p, who, mine, k, other)
        cost = _rate(t, p, shape, other, best)
        if cost < best:
            best = cost
            place[:] = other
    _slide(t, p, shape, place, best)
    p.pose[who], p.y[who], p.x[who], p.z[who] = place[0], place[1], place[2], place[3]


@checked
def total(t: Tables, p: Pile, own: ndarray) -> int:
    """Sum of overlaps over all pairs [um]; `own` gets the sum of each shape."""
    own[:] = 0
    for a in range(p.pose.shape[0]):
        for b in range(a):
            much = overlap(t, p, a, b)
            own[a] += much
            own[b] += much
    return int(own.sum() // 2)


@checked
def _reweigh(t: Tables, p: Pile) -> None:
    """Pairs that overlap count more from now on, the worst the most; the others are slowly forgiven."""
    worst = 1
    for a in range(p.pose.shape[0]):
        for b in range(a):
            worst = max(worst, overlap(t, p, a, b))
    for a in range(p.pose.shape[0]):
        for b in range(a):
            much = overlap(t, p, a, b)
            grown = (
                p.weight[a, b] * (1.2 + 0.8 * much / worst) if much > 0 else max(1.0, p.weight[a, b] * 0.95)
            )
            p.weight[a, b] = p.weight[b, a] = min(grown, 1e6)


@checked
def _lower(t: Tables, p: Pile, free: ndarray, ceiling: int) -> None:
    """Press every free shape under the ceiling."""
    for a in range(p.pose.shape[0]):
        if free[a]:
            p.z[a] = min(p.z[a], ceiling - t.high[p.pose[a]])


@checked
def squeeze(t: Tables, p: Pile, best: Pile, top: int, may: Allowed, plan: Descent) -> int:
    """Bring the top of a pile down; the new top [um].

    Each round moves every overlapping shape once under a ceiling below the best top so far, then lets the
    whole pile settle: what stands free of overlap and lower than before becomes the new `best`.

    Parameters
    ----------
    t, p, best : Tables, Pile, Pile
        `p` and `best` are changed in place; `best` is free of overlap, with top `top`.
    may, plan : Allowed, Descent
        What shapes may do, and how long they are moved.

    Source
    ------
    Overlap removal under a falling height with growing weights on stubborn pairs: guided local search
    after Egeblad, Nielsen and Brazil, Comput. Geom. 42 (2009) 269, with lowest heights instead of volumes.
    """
    np.random.seed(plan.seed)
    count = p.pose.shape[0]
    bands, own = np.empty((_MANY, 3)), np.zeros(count, np.int64)
    z, order = np.zeros(count, np.int64), np.zeros(count, np.int64)
    ceiling = int(top * (1.0 - plan.step))
    for _ in range(plan.rounds):
        _lower(t, p, may.free, ceiling)
        total(t, p, own)
        for a in np.random.permutation(count):
            if may.free[a] and (own[a] > 0 or p.z[a] < 0):  # below 0: too tall as it stands
                mine = may.poses[may.first[may.kind[a]] : may.first[may.kind[a] + 1]]
                _move(t, p, MovedShape(a, ceiling, bands), mine, plan.tries)
        new = settle(t, p, may.free, z, order)
        if 0 <= new < top:
            top = new
            best.pose[:], best.y[:], best.x[:], best.z[:] = p.pose, p.y, p.x, z
            if total(t, p, own) == 0:
                p.z[:] = z
            ceiling = min(ceiling, int(top * (1.0 - plan.step)))
        _reweigh(t, p)
    return top
