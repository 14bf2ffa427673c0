"""Rounds through the furnace until green nodes are found that come out at nominal."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.errors import LawError
from sagger.goods.sag import Misfit
from sagger.physics import solid
from sagger.physics.solid.body import volumes
from sagger.stations.sinter.shape import ShapeRun
from sagger.stations.sinter.stand import StandingCells, finished, fired, lowered, misfit, placed
from sagger.tick import Tick

ROUNDS = 6
CLOSE = 0.005  # of the misfit at the start: more rounds only chase the grid
MEMORY = 3  # earlier rounds that a step learns from
IDLE = 3  # rounds without a gain after which no more are tried
FOLDED = 0.2  # least Jacobian over largest of a green brick
TILTED = 0.1  # share of the misfit by which feet may leave the setter and still be printed flat
LIFTED = 4.0  # goals by which they may do so, however small the misfit


class Bent(NamedTuple):
    place: ndarray  # float64 (n, 3): green nodes [m]
    before: Misfit
    after: Misfit  # on the same grid
    rounds: int
    flat: bool  # faces on the setter were kept flat
    untreated: ndarray  # float64 (v, 3): off nominal at the vertices before any bending [mm]
    points_mm: ndarray  # float64 (v, 3): where they come out once bent, on the same grid


class Tried(NamedTuple):
    place: ndarray  # float64 (n, 3): green nodes [m]
    step: ndarray  # float64 (n, 3): what the fixed point adds to them [m]
    miss: ndarray  # float64 (3 v,): finished less nominal at the vertices, by root of their area
    found: Misfit


def bent(here: StandingCells, oversize: ndarray, run: ShapeRun, goal_mm: float, tick: Tick) -> Bent:
    """Nodes of the green body that come out nearest to nominal.

    Parameters
    ----------
    here : Stand
        The nominal part.
    oversize : float64 (3,)
    goal_mm : float
        Root mean square at which to stop.

    Source
    ------
    Fixed point on the nodes: green -= oversize x (finished - nominal), as in springback compensation (Gan and
    Wagoner 2004, from memory); mixed with earlier rounds so that the misfit of their linear model is least
    (Anderson 1965, from memory).
    """
    rest = here.built.place
    place, tried, flat = lowered(here, rest * oversize), [], True
    for turn in range(ROUNDS + 1):
        named = tick.under(f"bending against sag, run {turn + 1} of at most {ROUNDS + 1}")
        try:
            tried.append(_tried(here, place, oversize, run, named))
        except LawError:
            if not tried:
                raise
            break
        if turn == 0:
            flat = _stays_flat(here, tried[0], goal_mm)
        sizes = [one_round.found.rms_mm for one_round in tried]
        if min(sizes) <= max(goal_mm, CLOSE * sizes[0]) or int(np.argmin(sizes)) <= turn - IDLE:
            break
        place = _moved(here, tried[-1].place, _mixed(tried[-MEMORY - 1 :], _sole(here, flat)))
    best = min(tried, key=lambda one_round: one_round.found.rms_mm)
    root = np.sqrt(np.maximum(here.weights, 1e-30))[:, None]
    untreated, left = (one_round.miss.reshape(-1, 3) / root for one_round in (tried[0], best))
    points = left + here.shape.vertices
    return Bent(best.place, tried[0].found, best.found, len(tried) - 1, flat, untreated, points)


def _tried(here: StandingCells, place: ndarray, oversize: ndarray, run: ShapeRun, tick: Tick) -> Tried:
    target = np.asarray(here.shape.vertices)
    out = fired(here, place, run.how, run.uneven, tick=tick)
    points, motion = finished(here, out, target)
    wrong = placed(out.place * 1e3, motion) * 1e-3 - here.built.place
    miss = (points - target) * np.sqrt(np.maximum(here.weights, 1e-30))[:, None]
    return Tried(place, -oversize * wrong, miss.ravel(), misfit(points, target, here.weights))


def _mixed(tried: list[Tried], sole: ndarray) -> ndarray:
    """The step from the last round to the next, float64 (n, 3) [m]."""
    last = tried[-1]
    step = last.step
    if len(tried) > 1:
        apart = np.stack([last.miss - earlier.miss for earlier in tried[:-1]], axis=1)
        shares = np.linalg.lstsq(apart, last.miss, rcond=1e-6)[0]
        for share, earlier in zip(shares, tried[:-1], strict=True):
            step = step - share * (last.place - earlier.place + last.step - earlier.step)
    if sole.any():
        step = step.copy()
        step[sole, 2] = 0.0
    return step


def _moved(here: StandingCells, place: ndarray, step: ndarray) -> ndarray:
    """Green nodes after a step, shorter where it would fold a brick."""
    for _ in range(6):
        moved = lowered(here, place + step)
        if volumes(here.built.body, moved)[1].min() > FOLDED:
            return moved
        step = step / 2
    return place


def _on_setter(here: StandingCells) -> ndarray:
    """Which feet of the nominal part lie on the setter."""
    feet = solid.carried(here.feet.points, here.built.body.nodes, here.built.place)
    return np.asarray(feet[:, 2] < 1e-3 * here.built.pitch)


def _sole(here: StandingCells, flat: bool) -> ndarray:
    """Nodes that carry a face which lies on the setter; none if it may tilt."""
    share, feet = np.zeros(len(here.built.place)), here.feet.points
    if flat:
        low = _on_setter(here)
        np.maximum.at(share, here.built.body.nodes[feet.brick[low]], feet.weights[low])
    return share > 0.02


def _stays_flat(here: StandingCells, first: Tried, goal_mm: float) -> bool:
    """Whether what lies on the setter hardly leaves it in the furnace; legs under a span tilt."""
    low, feet = _on_setter(here), here.feet.points
    points = solid.Points(feet.brick[low], feet.weights[low])
    lifted = solid.carried(points, here.built.body.nodes, first.step)[:, 2]
    size = np.sqrt(np.average(lifted**2, weights=here.feet.area[low])) * 1e3 if low.any() else 0.0
    return bool(size <= max(TILTED * first.found.rms_mm, LIFTED * goal_mm))
