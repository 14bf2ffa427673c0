"""Many fillings of one box, wide columns first, and the best of them."""

from __future__ import annotations

from collections import Counter
from typing import NamedTuple

import numpy as np

from sagger.goods.green import Green
from sagger.stations.nest.fill import Desk, Kinds, Lie, Rule, fill, ready, top
from sagger.stations.nest.orders import by_chance, by_due
from sagger.tick import Tick, silent


class Effort(NamedTuple):
    """How much is tried; counted, not timed, so that the same seed gives the same layout on any machine."""

    work: int = 2400  # pieces placed with wide columns, over all tries
    least: int = 3  # tries at least
    most: int = 24  # tries at most
    fine: int = 3  # of the best orders are tried again with narrow columns
    poses: int = 6  # orientations of each part kept for that


class Found(NamedTuple):
    """One filling; less is better."""

    rank: tuple[float, ...]  # volume left over [mm3], earliest due date first, then the top [um]
    shared: Desk
    sequence: np.ndarray
    lies: list[Lie]
    rest: np.ndarray


def best_fill(
    wide: Desk,
    narrow: Desk,
    left: np.ndarray,
    volumes: np.ndarray,
    generator: np.random.Generator,
    effort: Effort,
    *,
    tick: Tick = silent,
) -> Found:
    """The lowest filling that takes all pieces, else the fullest one with earlier due dates first."""
    kinds = _kinds(wide, left)
    ready(wide, kinds, tick=tick)
    sizes = np.array([float(wide.forms[some[0]].mask.sum()) if some else 1.0 for some in kinds])
    tries = int(np.clip(effort.work // len(left), effort.least, effort.most))
    found: list[Found] = []
    for number in range(tries):
        sequence = by_chance(left, sizes, generator)
        if number and all(len(one.rest) for one in found):
            sequence = by_due(sequence, wide.greens)
        found.append(_try(wide, kinds, sequence, volumes, tick))
    found.sort(key=lambda one: one.rank)
    used = Counter(lie.pose for one in found for lie in one.lies)
    few = [sorted(sorted(some, key=lambda pose: -used[pose])[: effort.poses]) for some in kinds]
    ready(narrow, few, tick=tick)
    found += [_try(narrow, few, one.sequence, volumes, tick) for one in found[: effort.fine]]
    return min(found, key=lambda one: one.rank)


def _try(shared: Desk, kinds: Kinds, sequence: np.ndarray, volumes: np.ndarray, tick: Tick) -> Found:
    lies, rest = fill(shared, kinds, sequence, Rule(), tick=tick)
    due = np.array([green.part.request.due or "9999" for green in shared.greens])
    late = [float(volumes[rest[due[rest] == date]].sum()) for date in np.unique(due)]
    return Found((*late, float(top(shared, lies))), shared, sequence, lies, rest)


def _kinds(shared: Desk, left: np.ndarray) -> Kinds:
    """For each part that is left, its poses."""
    wanted = set(left.tolist())
    kinds: Kinds = [[] for _ in shared.greens]
    for pose, (kind, _) in enumerate(shared.poses):
        if kind in wanted:
            kinds[kind].append(pose)
    return kinds


def volume(green: Green, turn: int) -> float:
    """Volume inside the printed surface of one piece [mm3]."""
    at = green.shape.vertices[green.shape.triangles] @ green.maps[turn].T
    return float(np.einsum("ij,ij->i", at[:, 0], np.cross(at[:, 1], at[:, 2])).sum() / 6)
