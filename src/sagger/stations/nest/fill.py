"""Fill one box, piece by piece, each let down from above to the place where it lies snugly.

Because every piece came down freely, every piece can be lifted out again, the last one first.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from sagger.geometry.pile.lowering import letdown
from sagger.geometry.pile.lowering.nearness import empty_box
from sagger.goods.green import Green
from sagger.stations.nest.forms import Form, form, printed
from sagger.stations.nest.held import NOTHING_HELD, HeldPieces, still_form, zone_form
from sagger.stations.nest.room import NestRoom
from sagger.tick import Tick, silent

Turns = list[tuple[int, int]]  # part and orientation, every one that is allowed


_PULL = 1.5  # sizes of a middling piece that the tightest part gives to lie in the best place, not the worst


class PlacedPose(NamedTuple):
    """One piece in the room: index of its pose, column along y and x, height [um]."""

    pose: int
    y: int
    x: int
    z: int


class FillRule(NamedTuple):
    """What counts when two places are compared; lengths in units of a middling piece."""

    snug: float = 2.5  # weight of the mean distance to what lies around
    growth: float = 1.0  # weight of added build height
    taken: float = 1.0  # weight of the height that columns lose, what is shut in under a piece included
    window: float = 1.0  # how far above the lowest place is still looked at


class Desk(NamedTuple):
    """What all fillings with one width of columns share."""

    greens: tuple[Green, ...]
    room: NestRoom
    column: float  # side of a column [mm]
    cell: float  # side of a coarse cell [mm]
    size: float  # of a middling piece [mm]
    forms: list[Form]
    kinds: list[np.ndarray]  # for each part, its poses: indices into `forms`
    known: letdown.Poses
    held: HeldPieces
    first: tuple[PlacedPose, ...]  # where the held things lie; their poses come after those of the parts


class Fill(NamedTuple):
    """A box as far as it is filled; never changed, only followed by a fuller one."""

    bed: letdown.OpenBox
    lies: tuple[PlacedPose, ...]  # in placing order
    rest: tuple[int, ...]  # parts of pieces that found no place
    top: int  # of the highest piece above the room's floor [um]


def desk(
    greens: tuple[Green, ...], turns: Turns, room: NestRoom, column: float, held: HeldPieces = NOTHING_HELD,
    *, tick: Tick = silent,
) -> Desk:  # fmt: skip
    """Forms of all parts in these orientations, and of what is held, over columns of side `column` [mm]."""
    extents = np.array([np.ptp(printed(greens[kind], turn), axis=0) for kind, turn in turns])
    size = float(np.median(np.cbrt(extents.prod(axis=1))))
    cell = max(size / 16, max(room.size) / 250, column)
    forms = []
    for kind, turn in tick.over(turns, "tracing shapes"):
        forms.append(form(greens[kind], kind, turn, room, column, cell))
    kinds = [np.flatnonzero([one.kind == kind for one in forms]) for kind in range(len(greens))]
    lying = [still_form(still, greens[still.part], room, column, cell) for still in held.stills]
    lying += [zone_form(zone, room, column, cell, forms[0].fields.pad) for zone in held.zones]
    first = tuple(PlacedPose(len(forms) + number, *place) for number, (_, *place) in enumerate(lying))
    forms += [one for one, *_ in lying]
    known = letdown.Poses(
        [one.fields for one in forms],
        np.array([one.height for one in forms]),
        np.array([one.places for one in forms]),
        [one.mask for one in forms],
        _liking(forms, room, column, size),
    )
    return Desk(greens, room, column, cell, size, forms, kinds, known, held, first)


def _liking(forms: list[Form], room: NestRoom, column: float, size: float) -> letdown.Liking:
    """What the parts' wish for places means to these forms."""
    if room.wish is None:
        return letdown.no_liking(len(forms))
    pull = np.array([room.wish.pull[one.kind] if one.kind >= 0 else 0.0 for one in forms])
    step = np.array([1e-3, column, column]) / np.array(room.size)[::-1]
    return letdown.Liking(room.wish.off, _PULL * size * 1e3 * pull, room.wish.off.shape * step)


def empty(shared: Desk) -> Fill:
    """A box with nothing in it but what is held."""
    room, cell = shared.room, shared.cell
    cells = [int(np.ceil(length / cell)) for length in room.size]
    columns = [int(np.ceil(length / shared.column)) for length in room.size]
    bed = letdown.OpenBox(
        np.zeros(int(shared.known.sizes.places.prod(axis=1).sum()), dtype=np.int32),
        empty_box((cells[2], cells[1], cells[0]), round(room.gap / cell), 3),
        np.zeros((columns[1], columns[0]), dtype=np.int32),
    )
    for lie in shared.first:
        letdown.put(shared.known, bed, lie, np.concatenate(shared.kinds), _weigh(shared, FillRule()))
    stills = shared.first[: len(shared.held.stills)]
    top = max((lie.z + shared.forms[lie.pose].height for lie in stills), default=0)
    return Fill(bed, stills, (), top)


def _weigh(shared: Desk, rule: FillRule) -> letdown.LetdownRule:
    """The rule in micrometres and columns."""
    micro = 1e3 * shared.size
    taken = rule.taken * (shared.column / shared.size) ** 2
    scale = (shared.cell / shared.column, 1e3 * shared.cell)
    return letdown.LetdownRule(rule.snug * micro, rule.growth, taken, rule.window * micro, *scale)


def fill(shared: Desk, start: Fill, sequence: np.ndarray, later: np.ndarray, rule: FillRule) -> Fill:
    """Fill a box further.

    Parameters
    ----------
    start : Fill
        The box so far; left as it is.
    sequence : ndarray
        int64 (n,): index of the part of each piece, in placing order.
    later : ndarray
        int64: parts of which more pieces may come after this sequence.

    Returns
    -------
    Fill
        The fuller box; pieces that found no place are added to its `rest`.
    """
    bed = letdown.OpenBox(*(part.copy() for part in start.bed))
    lies, rest, top = list(start.lies), list(start.rest), start.top
    weigh = _weigh(shared, rule)
    ceiling, known = int(shared.room.size[2] * 1e3 + 1e-3), shared.known
    for done, kind in enumerate(sequence.tolist()):
        lie = (-1, 0, 0, 0)
        if kind not in rest:
            lie = letdown.best(shared.kinds[kind], known.sizes, bed, weigh, top, ceiling)
        if lie[0] < 0:
            rest.append(kind)
            continue
        coming = (set(sequence[done + 1 :].tolist()) | set(later.tolist())) - set(rest)
        live = [shared.kinds[other] for other in sorted(coming)]
        letdown.put(known, bed, lie, np.concatenate(live) if live else shared.kinds[0][:0], weigh)
        lies.append(PlacedPose(*lie))
        top = max(top, lie[3] + int(known.sizes.high[lie[0]]))
    return Fill(bed, tuple(lies), tuple(rest), top)
