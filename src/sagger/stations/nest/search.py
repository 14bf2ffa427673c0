"""Many fillings of one box side by side: the best grow on, step by step, and the best of all is taken.

After each step the boxes that hold the same pieces under the lowest surface are kept. Choosing at every step
gains more than choosing once at the end between fillings left to luck.
"""

from __future__ import annotations

from collections import Counter
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from sagger.goods.green import Green
from sagger.stations.nest.fill import Desk, Fill, FillRule, PlacedPose, Turns, desk, empty, fill
from sagger.stations.nest.forms import pitch, printed
from sagger.stations.nest.held import NOTHING_HELD, HeldPieces
from sagger.stations.nest.orders import by_chance, by_due
from sagger.stations.nest.room import NestRoom
from sagger.tick import Tick, silent

_WIDE, _NARROW = 16.0, 28.0  # columns across a middling piece, in the first search and the second
_MANY = (200, 1000)  # between these the pressing afterwards gains more for its time than narrow columns
_TURNS_KEPT = 6  # orientations of each part that the second search may use


class Effort(NamedTuple):
    """How much is tried; counted, not timed, so that the same seed gives the same layout on any machine."""

    steps: int = 24  # steps in which a box is filled
    kept: int = 3  # boxes that grow on after each step
    tried: int = 4  # ways in which each of them is filled further


class RankedFilling(NamedTuple):
    """One filling; less is better."""

    rank: tuple[float, ...]  # volume left over [mm3], earliest due date first, then the top [um]
    shared: Desk
    lies: tuple[PlacedPose, ...]  # in placing order
    rest: tuple[int, ...]  # parts of pieces that found no place


class BoxToFill(NamedTuple):
    """What may be laid into one box, and what room it has."""

    greens: tuple[Green, ...]
    turns: Turns
    room: NestRoom
    held: HeldPieces = NOTHING_HELD


def best_box(
    box: BoxToFill, left: np.ndarray, generator: np.random.Generator, *, tick: Tick = silent
) -> RankedFilling:
    """Best filling of one box with the pieces `left` (their parts): over wide columns, then narrow ones."""
    greens, space, held = box.greens, box.room, box.held
    wanted = set(left.tolist())
    turns = [(kind, turn) for kind, turn in box.turns if kind in wanted]
    effort = _effort(len(left))
    extents = np.array([np.ptp(printed(greens[kind], turn), axis=0) for kind, turn in turns])
    wide = desk(greens, turns, space, pitch(extents, space, _WIDE), held, tick=tick)
    tries = _first(wide, left, generator.spawn(1)[0], tick)
    tries += grown_twice(wide, left, generator, effort, tick=tick)
    lying = [wide.forms[lie.pose] for one in tries for lie in one.lies]
    used = Counter((form.kind, form.turn) for form in lying)
    if _MANY[0] < len(left) < _MANY[1]:
        return min(tries, key=lambda one: one.rank)
    few = []
    for kind in sorted(wanted):
        mine = [pair for pair in turns if pair[0] == kind]
        few += sorted(sorted(mine, key=lambda pair: -used[pair])[:_TURNS_KEPT])
    narrow = desk(greens, few, space, pitch(extents, space, _NARROW), held, tick=tick)
    effort = effort._replace(kept=max(1, effort.kept // 2))
    tries += grown_twice(narrow, left, generator, effort, tick=tick)
    return min(tries, key=lambda one: one.rank)


def _first(shared: Desk, left: np.ndarray, generator: np.random.Generator, tick: Tick) -> list[RankedFilling]:
    """One plain filling, so that there soon is a nest."""
    found = grown_twice(shared, left, generator, Effort(kept=1, tried=1), tick=tick)
    tick.say(f"placing pieces; a first nest is {min(one.rank for one in found)[-1] * 1e-3:.1f} mm high")
    return found


def _effort(count: int) -> Effort:
    """More ways are tried where there are few pieces: their heights depend most on luck."""
    ways = int(np.clip(min(180 / count**0.5, 4000 / count), 2, 32))
    return Effort(kept=max(1, ways // 4), tried=min(4, ways))


def grown_twice(
    shared: Desk, left: np.ndarray, generator: np.random.Generator, effort: Effort, *, tick: Tick = silent
) -> list[RankedFilling]:
    """Fillings with the pieces in a drawn order; if not all fit, also with earlier due dates first."""
    sizes = np.array([float(shared.forms[some[0]].mask.sum()) if len(some) else 1.0 for some in shared.kinds])
    sequence = by_chance(left, sizes, generator)
    tries = grown(shared, sequence, generator, effort, tick=tick)
    if all(one.rest for one in tries):
        tries += grown(shared, by_due(sequence, shared.greens), generator, effort, tick=tick)
    return tries


def grown(
    shared: Desk, sequence: np.ndarray, generator: np.random.Generator, effort: Effort, *, tick: Tick = silent
) -> list[RankedFilling]:
    """The best fillings of a box with the pieces of `sequence`, taken in steps in that order."""
    volumes = np.array([volume(green, 0) for green in shared.greens])
    boxes = [empty(shared)]
    steps = int(np.clip(len(sequence) // 6, 1, effort.steps))
    cuts = np.linspace(0, len(sequence), steps + 1).astype(int)
    for first, last in pairwise(cuts.tolist()):
        block, later, share = sequence[first:last], np.unique(sequence[last:]), last / len(sequence)
        tries = []
        for box in boxes:
            for number in range(effort.tried * effort.kept // len(boxes)):
                tick.say("placing pieces", first, len(sequence))
                mixed = generator.permutation(block) if number else block
                tries.append(fill(shared, box, mixed, later, _rule(generator)))
        tries.sort(key=lambda box: _promise(box, volumes, share))
        boxes = _different(tries)[: effort.kept]
    return [_found(shared, box, volumes) for box in boxes]


def _rule(generator: np.random.Generator) -> FillRule:
    """The rule of placing, varied a little by chance."""
    snug, growth, taken = generator.uniform((1.5, 0.5, 0.6), (3.5, 1.5, 1.4))
    return FillRule(snug=float(snug), growth=float(growth), taken=float(taken))


def _promise(box: Fill, volumes: np.ndarray, share: float) -> tuple[float, float]:
    """Volume that found no place, then height: of the mean surface at first, of the highest at the end."""
    late = share**4
    mean = float(box.bed.surface.mean())
    return float(volumes[list(box.rest)].sum()), (1 - late) * mean + late * box.top


def _different(boxes: list[Fill]) -> list[Fill]:
    """The boxes without repetitions of the same surface."""
    seen: dict[bytes, Fill] = {}
    for box in boxes:
        seen.setdefault(box.bed.surface.tobytes(), box)
    return list(seen.values())


def _found(shared: Desk, box: Fill, volumes: np.ndarray) -> RankedFilling:
    due = np.array([green.part.request.due or "9999" for green in shared.greens])
    rest = np.array(box.rest, dtype=np.int64)
    late = [float(volumes[rest[due[rest] == date]].sum()) for date in np.unique(due)]
    return RankedFilling((*late, float(box.top)), shared, box.lies, box.rest)


def volume(green: Green, turn: int) -> float:
    """Volume inside the printed surface of one piece [mm3]."""
    at = green.shape.vertices[green.shape.triangles] @ green.maps[turn].T
    return float(np.einsum("ij,ij->i", at[:, 0], np.cross(at[:, 1], at[:, 2])).sum() / 6)
