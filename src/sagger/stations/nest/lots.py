"""A lot of one kind: stackings by rule and rows of copies beside what the search found."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from sagger.stations.nest.fill import PlacedPose, Turns, desk
from sagger.stations.nest.forms import printed
from sagger.stations.nest.improve import improved
from sagger.stations.nest.in_rows import Row, rows
from sagger.stations.nest.search import BoxToFill, Effort, RankedFilling, grown
from sagger.stations.nest.stacking import LayerStack, stacks
from sagger.tick import Tick

_A_LOT = 24  # pieces; fewer are left to the search
_MOST_TURNS = 24  # orientations of which pairs are weighed
_SHARES = 2  # columns to a gap
_ACROSS = 64  # columns across a part at most
_FILLINGS = 3  # of each sort of row that are pressed a little
_GO_ON = 2  # of all of them that are pressed on
_FIRST, _ON = 12, 40  # blocks of rounds: of each at first, beyond the usual of those that go on
_EFFORT = Effort(kept=8, tried=4)
_SORTS = 2  # sorts of rows that are tried: those that fill the room's length best
_CLEARLY = 0.9  # of the height: a stacking that much lower needs no rows beside it


class _Lot(NamedTuple):
    box: BoxToFill
    kind: int
    turns: list[int]  # orientations in which it fits
    column: float  # [mm]
    pieces: int


def in_order(
    box: BoxToFill, searched: RankedFilling, left: np.ndarray, seed: int, *, tick: Tick
) -> RankedFilling:
    """The box filled by rule where that is lower than `searched`, or holds more; else `searched`.

    Only for many pieces of one part with nothing held and no wish for places.
    """
    kinds = np.unique(left)
    free = not box.held.stills and not box.held.zones and box.room.wish is None
    if len(kinds) != 1 or len(left) < _A_LOT or not free or box.room.gap <= 0 or not searched.lies:
        return searched
    kind = int(kinds[0])
    turns = [turn for part, turn in box.turns if part == kind][:_MOST_TURNS]
    extents = np.array([np.ptp(printed(box.greens[kind], turn), axis=0) for turn in turns])
    column = max(box.room.gap / _SHARES, float(extents.max()) / _ACROSS)
    tick.say("stacking a lot of one kind")
    lot, best = _Lot(box, kind, turns, column, len(left)), searched
    for stack in stacks(box.greens[kind], turns, box.room, column, len(left))[:1]:
        best = min(best, _stacked(lot, stack, searched), key=lambda one: one.rank)
    if best.rest or best.rank[-1] < _CLEARLY * searched.rank[-1]:
        return best
    for one in _in_rows(lot, seed, tick):
        best = min(best, one, key=lambda one: one.rank)
    return best


def _stacked(lot: _Lot, stack: LayerStack, searched: RankedFilling) -> RankedFilling:
    """A stack as a filling; what stands above the room is left over."""
    box, kind, turns, column, count = lot
    used = sorted({turn for layer in stack.layers for turn, _, _ in layer})
    shared = desk(box.greens, [(kind, turn) for turn in turns], box.room, column)
    pose = {turn: turns.index(turn) for turn in used}
    high = int(box.room.size[2] * 1e3 + 1e-3)
    lies = [PlacedPose(pose[turn], y, x, z) for turn, y, x, z in stack.laid(count)]
    lies = [lie for lie in lies if lie.z + shared.forms[lie.pose].height <= high]
    top = max((lie.z + shared.forms[lie.pose].height for lie in lies), default=0)
    rest = (kind,) * (count - len(lies))
    volume = searched.rank[0] / max(1, len(searched.rest)) if searched.rest else 1.0
    return RankedFilling((volume * len(rest), float(top)), shared, tuple(lies), rest)


def _in_rows(lot: _Lot, seed: int, tick: Tick) -> list[RankedFilling]:
    """The lowest fillings with rows of one sort and single pieces for what they leave over, pressed."""
    box, kind, turns, column, count = lot
    tries = []
    sorts = rows(box.greens[kind], turns, box.room, column, count)
    for row in sorted(sorts, key=lambda one: -one.spacing * one.copies / box.room.size[one.axis])[:_SORTS]:
        many, rest = divmod(count, row.copies)
        greens = (row.green, box.greens[kind])
        poses: Turns = [(0, n) for n in range(len(row.turns))]
        poses += [(1, turn) for turn in turns] if rest else []
        shared = desk(greens, poses, box.room, column, tick=tick)
        sequence = np.repeat([0, 1], [many, rest])
        fillings = grown(shared, sequence, np.random.default_rng(seed), _EFFORT, tick=tick)
        fillings.sort(key=lambda one: one.rank)
        tries += [(row, one) for one in fillings[:_FILLINGS] if not one.rest]
    begun = [(row, improved(one, seed, _FIRST, tick=tick)) for row, one in tries]
    begun.sort(key=lambda one: one[1].rank)
    pressed = [(row, improved(one, seed, more=_ON, tick=tick)) for row, one in begun[:_GO_ON]]
    return [_apart(lot, row, fillings) for row, fillings in pressed]


def _apart(lot: _Lot, row: Row, filling: RankedFilling) -> RankedFilling:
    """The pieces of rows that were laid as one."""
    box, kind, turns, column, _ = lot
    of = filling.shared
    step = round(row.spacing * column / of.column)
    shared = desk(box.greens, [(kind, turn) for turn in turns], box.room, of.column)
    lies = []
    for lie in filling.lies:
        form = of.forms[lie.pose]
        turn = row.turns[form.turn] if form.kind == 0 else form.turn
        for n in range(row.copies if form.kind == 0 else 1):
            y, x = lie.y + n * step * (row.axis == 1), lie.x + n * step * (row.axis == 0)
            lies.append(PlacedPose(turns.index(turn), y, x, lie.z))
    return RankedFilling(filling.rank, shared, tuple(lies), ())
