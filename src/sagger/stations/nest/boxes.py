"""Box after box until every piece of a job has a place."""

from __future__ import annotations

from collections import Counter
from typing import NamedTuple

import numpy as np

from sagger.errors import StopError
from sagger.goods.box import Box
from sagger.goods.finding import Finding
from sagger.goods.green import Green
from sagger.goods.learned import BedMap
from sagger.goods.order import Choices
from sagger.stations.nest import sets
from sagger.stations.nest.fill import Turns
from sagger.stations.nest.forms import fitting
from sagger.stations.nest.held import Held
from sagger.stations.nest.improve import improved
from sagger.stations.nest.orient import chosen
from sagger.stations.nest.places import exchanged, wish
from sagger.stations.nest.room import Room, room, stretched
from sagger.stations.nest.search import Found, best_box, volume
from sagger.tick import Tick

_FEW = 0.2  # share of the volume left over that may be pressed in
_ROUNDS_A_START = 30  # filling afresh takes about as long as so many rounds of pressing


class Task(NamedTuple):
    """What all boxes of a job share."""

    real: tuple[Green, ...]  # the parts as they are
    greens: tuple[Green, ...]  # as the room sees them
    turns: Turns
    room: Room
    box: Box
    held: Held
    choices: Choices


def task_of(
    greens: tuple[Green, ...], box: Box, choices: Choices, held: Held, bed: BedMap | None = None
) -> Task:
    space = room(box, choices)
    space = space._replace(wish=wish(greens, space, choices, bed))
    seen = tuple(stretched(green, space.stretch) for green in greens)
    turns = []
    for kind, green in enumerate(seen):
        fit = fitting(green, space, box.title)
        turns += [(kind, turn) for turn in chosen(greens[kind], fit, choices.nesting.prefer)]
    return Task(greens, seen, turns, space, box, held, choices)


def one_by_one(task: Task, left: np.ndarray, tick: Tick) -> list[Found]:
    """Box after box until every piece has a place."""
    generator = np.random.default_rng(task.choices.seed)
    boxes: list[Found] = []
    lead = ""
    while len(left):
        found, pieces, lead = _next(task, left, generator, lead, tick)
        if len(found.rest) == len(pieces):
            raise StopError(_no_room(task.real[int(pieces[0])], task.box))
        found = _pressed_in(found, task.turns, pieces, task.choices.seed, tick) if found.rest else found
        found = improved(found, task.choices.seed, more=task.choices.nesting.improve, tick=tick)
        boxes.append(exchanged(found))
        kept_out = Counter(left.tolist()) - Counter(pieces.tolist())
        left = np.array(sorted([*found.rest, *kept_out.elements()]), dtype=np.int64)
    return boxes


def _next(
    task: Task, left: np.ndarray, generator: np.random.Generator, lead: str, tick: Tick
) -> tuple[Found, np.ndarray, str]:
    """The next box, the pieces that it was filled from, and the set that leads the box after it."""
    waiting: tuple[str, ...] = ()
    while True:
        pieces = sets.allowed(task.greens, left, waiting)
        greens = sets.led(task.greens, lead)
        found = _best_of(task, greens, pieces, generator, tick)
        torn = sets.split(found, pieces) if found.rest else []
        if not torn:
            return found, pieces, waiting[0] if waiting else ""
        if lead in torn or len(set(pieces.tolist())) == len(_of_set(task.greens, pieces, torn[0])):
            raise sets.refuse(lead if lead in torn else torn[0], task.box.title)
        waiting = (*waiting, *torn)


def _best_of(
    task: Task, greens: tuple[Green, ...], pieces: np.ndarray, generator: np.random.Generator, tick: Tick
) -> Found:
    """The first filling, or where more search is wanted the best of it and of some begun afresh."""
    found = best_box(greens, task.turns, task.room, pieces, generator, task.held, tick=tick)
    afresh = task.choices.nesting.improve // _ROUNDS_A_START
    for start in tick.until_enough(range(afresh)):
        tick.best = f"{found.rank[-1] * 1e-3:.1f} mm high"
        tick.say("filling the box afresh", start, afresh)
        other = best_box(greens, task.turns, task.room, pieces, generator, task.held, tick=tick)
        found = min(found, other, key=lambda one: one.rank)
    return found


def _of_set(greens: tuple[Green, ...], pieces: np.ndarray, name: str) -> set[int]:
    return {kind for kind in pieces.tolist() if greens[kind].part.request.together == name}


def in_equal_shares(
    task: Task, left: np.ndarray, boxes: list[Found], tick: Tick
) -> tuple[list[Found], tuple[Finding, ...]]:
    """As many boxes with equal shares of every part; if that cannot be, they stay as they are."""
    count = len(boxes)
    copies = np.bincount(left, minlength=len(task.greens))
    even: list[Found] = []
    for number in range(count):
        shares = [
            total // count + ((number + kind) % count < total % count) for kind, total in enumerate(copies)
        ]
        pieces = np.repeat(np.arange(len(shares)), shares)
        generator = np.random.default_rng(task.choices.seed)
        found = _best_of(task, task.greens, pieces, generator, tick)
        if found.rest:
            return boxes, (_uneven(count),)
        found = improved(found, task.choices.seed, more=task.choices.nesting.improve, tick=tick)
        even.append(exchanged(found))
    return even, ()


def _uneven(count: int) -> Finding:
    return Finding(
        level="look",
        what="boxes uneven",
        text=f"Equal shares of every part do not fit into {count} boxes; one is filled after the other.",
        source="choices",
        remedy="Take a larger box, or allow more orientations.",
    )


def _pressed_in(found: Found, turns: Turns, left: np.ndarray, seed: int, tick: Tick) -> Found:
    """All pieces in one box if the few that found no place can be pressed in from above; else as found."""
    shared = found.shared
    volumes = np.array([volume(green, 0) for green in shared.greens])
    wide, deep, high = shared.room.size
    if volumes[list(found.rest)].sum() > _FEW * volumes[left].sum():
        return found
    taller = shared.room._replace(size=(wide, deep, high * (1 + 2 * _FEW)))
    generator = np.random.default_rng(seed)
    pile = best_box(shared.greens, turns, taller, left, generator, shared.held, tick=tick)
    pile = improved(pile, seed, tick=tick)
    return pile if not pile.rest and pile.rank[-1] <= high * 1e3 + 1e-3 else found


def _no_room(green: Green, box: Box) -> str:
    return (
        f"part {green.part.request.name!r} finds no place in box {box.title} beside what is held there; take "
        f"away a zone or a held piece, or allow more orientations"
    )
