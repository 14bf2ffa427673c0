"""Box after box until every piece of a job has a place."""

from __future__ import annotations

from collections import Counter
from typing import NamedTuple

import numpy as np

from sagger.errors import StopError
from sagger.goods.box import Box
from sagger.goods.finding import Against, Finding, advice
from sagger.goods.green import Green
from sagger.goods.learned import BedMap
from sagger.goods.order import Choices
from sagger.stations.nest import sets
from sagger.stations.nest.fill import Turns
from sagger.stations.nest.forms import fitting
from sagger.stations.nest.held import HeldPieces
from sagger.stations.nest.improve import improved
from sagger.stations.nest.laid import FilledBox, laid
from sagger.stations.nest.lots import in_order
from sagger.stations.nest.orient import chosen
from sagger.stations.nest.places import exchanged, wish
from sagger.stations.nest.pressing import whole_box
from sagger.stations.nest.room import NestRoom, room, stretched
from sagger.stations.nest.search import BoxToFill, RankedFilling, best_box, volume
from sagger.tick import Tick

_FEW = 0.2  # share of the volume left over that may be pressed in
_ROUNDS_A_START = 30  # filling afresh takes about as long as so many rounds of pressing


class Task(NamedTuple):
    """What all boxes of a job share."""

    real: tuple[Green, ...]  # the parts as they are
    greens: tuple[Green, ...]  # as the room sees them
    turns: Turns
    room: NestRoom
    box: Box
    held: HeldPieces
    choices: Choices


def task_of(
    greens: tuple[Green, ...], box: Box, choices: Choices, held: HeldPieces, bed: BedMap | None = None
) -> Task:
    space = room(box, choices)
    space = space._replace(wish=wish(greens, space, choices, bed))
    seen = tuple(stretched(green, space.stretch) for green in greens)
    turns = []
    for kind, green in enumerate(seen):
        fit = fitting(green, space, box.title)
        turns += [(kind, turn) for turn in chosen(greens[kind], fit, choices.nesting.prefer)]
    return Task(greens, seen, turns, space, box, held, choices)


def one_by_one(task: Task, left: np.ndarray, tick: Tick) -> list[FilledBox]:
    """Box after box until every piece has a place."""
    generator = np.random.default_rng(task.choices.seed)
    boxes: list[FilledBox] = []
    lead = ""
    while len(left):
        filling, pieces, lead = _next(task, left, generator, lead, tick)
        if len(filling.rest) == len(pieces):
            raise StopError(_no_room(task.real[int(pieces[0])], task.box))
        filling = (
            _pressed_in(filling, task.turns, pieces, task.choices.seed, tick) if filling.rest else filling
        )
        boxes.append(_finished(task, filling, tick))
        kept_out = Counter(left.tolist()) - Counter(pieces.tolist())
        left = np.array(sorted([*filling.rest, *kept_out.elements()]), dtype=np.int64)
    return boxes


def _next(
    task: Task, left: np.ndarray, generator: np.random.Generator, lead: str, tick: Tick
) -> tuple[RankedFilling, np.ndarray, str]:
    """The next box, the pieces that it was filled from, and the set that leads the box after it."""
    waiting: tuple[str, ...] = ()
    while True:
        pieces = sets.allowed(task.greens, left, waiting)
        greens = sets.led(task.greens, lead)
        filling = _best_of(task, greens, pieces, generator, tick)
        torn = sets.split(filling, pieces) if filling.rest else []
        if not torn:
            return filling, pieces, waiting[0] if waiting else ""
        if lead in torn or len(set(pieces.tolist())) == len(_of_set(task.greens, pieces, torn[0])):
            raise sets.refuse(lead if lead in torn else torn[0], task.box.title)
        waiting = (*waiting, *torn)


def _best_of(
    task: Task, greens: tuple[Green, ...], pieces: np.ndarray, generator: np.random.Generator, tick: Tick
) -> RankedFilling:
    """The first filling, or where more search is wanted the best of it and of some begun afresh.

    A lot of one kind is also stacked by rule.
    """
    box = BoxToFill(greens, task.turns, task.room, task.held)
    filling = best_box(box, pieces, generator, tick=tick)
    afresh = _more(task, len(pieces)) // _ROUNDS_A_START
    for start in tick.until_enough(range(afresh)):
        tick.best = f"{filling.rank[-1] * 1e-3:.1f} mm high"
        tick.say("filling the box afresh", start, afresh)
        other = best_box(box, pieces, generator, tick=tick)
        filling = min(filling, other, key=lambda one: one.rank)
    return in_order(box, filling, pieces, task.choices.seed, tick=tick)


def _more(task: Task, count: int) -> int:
    """Rounds beyond the usual for filling and letting down; none where moves over the whole box follow."""
    return 0 if _over_the_whole_box(task, count) else task.choices.nesting.improve


def _over_the_whole_box(task: Task, count: int) -> bool:
    """Moves over the whole box take minutes: for more effort than usual, or another rule of emptying."""
    asked = task.choices.nesting
    more = asked.improve > 0 or asked.lift != "up"
    return more and whole_box.suits(count, task.room, task.held)


def _finished(task: Task, filling: RankedFilling, tick: Tick) -> FilledBox:
    """The box pressed lower, by the search that suits its number of pieces."""
    count, asked = len(filling.lies), task.choices.nesting
    filling = exchanged(improved(filling, task.choices.seed, more=_more(task, count), tick=tick))
    filled = FilledBox(laid(filling.shared, filling.lies), filling.rest)
    if filling.rest or not _over_the_whole_box(task, count):
        return filled
    forms = filling.shared.forms[: len(filling.shared.forms) - len(filling.shared.first)]
    poses = tuple((form.kind, form.turn) for form in forms)
    wanted = whole_box.PressWish(poses, asked.lift, asked.improve, task.choices.seed)
    return whole_box.lowered(task.greens, task.room, filled, wanted, tick=tick)


def _of_set(greens: tuple[Green, ...], pieces: np.ndarray, name: str) -> set[int]:
    return {kind for kind in pieces.tolist() if greens[kind].part.request.together == name}


def in_equal_shares(
    task: Task, left: np.ndarray, boxes: list[FilledBox], tick: Tick
) -> tuple[list[FilledBox], tuple[Finding, ...]]:
    """As many boxes with equal shares of every part; if that cannot be, they stay as they are."""
    count = len(boxes)
    copies = np.bincount(left, minlength=len(task.greens))
    even: list[FilledBox] = []
    for number in range(count):
        shares = [
            total // count + ((number + kind) % count < total % count) for kind, total in enumerate(copies)
        ]
        pieces = np.repeat(np.arange(len(shares)), shares)
        generator = np.random.default_rng(task.choices.seed)
        filling = _best_of(task, task.greens, pieces, generator, tick)
        if filling.rest:
            return boxes, (_uneven(count),)
        even.append(_finished(task, filling, tick))
    return even, ()


def _uneven(count: int) -> Finding:
    text = f"Equal shares of every part do not fit into {count} boxes; one is filled after the other."
    remedy = "Take a larger box, or allow more orientations."
    return advice("boxes uneven", text, Against(source="choices"), remedy)


def _pressed_in(
    filling: RankedFilling, turns: Turns, left: np.ndarray, seed: int, tick: Tick
) -> RankedFilling:
    """All pieces in one box if the few that found no place can be pressed in from above; else as found."""
    shared = filling.shared
    volumes = np.array([volume(green, 0) for green in shared.greens])
    wide, deep, high = shared.room.size
    if volumes[list(filling.rest)].sum() > _FEW * volumes[left].sum():
        return filling
    taller = shared.room._replace(size=(wide, deep, high * (1 + 2 * _FEW)))
    generator = np.random.default_rng(seed)
    box = BoxToFill(shared.greens, turns, taller, shared.held)
    pile = best_box(box, left, generator, tick=tick)
    pile = improved(pile, seed, tick=tick)
    return pile if not pile.rest and pile.rank[-1] <= high * 1e3 + 1e-3 else filling


def _no_room(green: Green, box: Box) -> str:
    return (
        f"part {green.part.request.name!r} finds no place in box {box.title} beside what is held there; take "
        f"away a zone or a held piece, or allow more orientations"
    )
