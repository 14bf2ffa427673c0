"""Where each piece of an order lies, in as few and as low boxes as we can find."""

from __future__ import annotations

import dataclasses

import numpy as np

from sagger.errors import StopError
from sagger.goods.box import Box
from sagger.goods.green import Green
from sagger.goods.layout import Layout, Nest, Piece
from sagger.goods.order import Choices
from sagger.stations.nest.check import measure
from sagger.stations.nest.fill import Desk, Lie, Turns
from sagger.stations.nest.forms import fitting, printed
from sagger.stations.nest.held import NOTHING_HELD, Held, asked
from sagger.stations.nest.improve import improved
from sagger.stations.nest.room import Room, room
from sagger.stations.nest.search import Found, best_box, volume
from sagger.tick import Tick, silent

_FEW = 0.2  # share of the volume left over that may be pressed in


def pack(greens: tuple[Green, ...], box: Box, choices: Choices, *, tick: Tick = silent) -> Nest:
    """Every copy of every part in a box, with the gap kept, each free to be lifted out.

    Parameters
    ----------
    greens : tuple of Green
        Parts with their allowed orientations; `part.request.quantity` copies of each are placed, and what
        a request wants held lies at the same spots in every box.
    box : Box
        The job box; its gaps to walls and floor always hold, its gap between pieces unless `choices` say.
    choices : Choices
        `gap_mm` and the `seed`: the same seed and input give the same layout to the last bit.

    Returns
    -------
    Nest
        As many layouts as boxes are needed. The pieces of a layout stand in the order in which they can be
        let down from above; in the reverse order each can be lifted straight out.

    Raises
    ------
    StopError
        If a part fits into the box in none of its orientations, or if the exact check finds a gap violated.

    Source
    ------
    Pieces are let down one by one where they lie low and close to others; lowest heights over square
    columns say where they may lie. Then the whole is pressed lower: overlap removal under a falling ceiling
    after Egeblad, Nielsen and Brazil, Comput. Geom. 42 (2009) 269. No spatial frequencies.
    """
    held = asked(greens, room(box, choices))
    counted = tuple(_without_held(green) for green in greens)
    found = packed(counted, box, choices, held, tick=tick)
    return Nest(layouts=tuple(dataclasses.replace(each, greens=greens) for each in found.layouts))


def _without_held(green: Green) -> Green:
    request = green.part.request
    if not request.held:
        return green
    request = dataclasses.replace(request, quantity=max(0, request.quantity - len(request.held)))
    return dataclasses.replace(green, part=dataclasses.replace(green.part, request=request))


def packed(
    greens: tuple[Green, ...], box: Box, choices: Choices, held: Held = NOTHING_HELD, *, tick: Tick = silent
) -> Nest:
    """As `pack`, around what is held in every box; held pieces are copies beyond the order's quantity."""
    if not greens:
        return Nest(layouts=())
    space = room(box, choices)
    turns = [(kind, turn) for kind, green in enumerate(greens) for turn in fitting(green, space, box.title)]
    left = np.repeat(np.arange(len(greens)), [green.part.request.quantity for green in greens])
    generator = np.random.default_rng(choices.seed)
    layouts: list[Layout] = []
    numbers = np.zeros(len(greens), dtype=np.int64)
    if not len(left) and held.stills:
        pieces = _stills(greens, held, numbers)
        return Nest(layouts=(_layout(greens, box, space, pieces, 1, tick),))
    while len(left):
        found = best_box(greens, turns, space, left, generator, held, tick=tick)
        if len(found.rest) == len(left):
            raise StopError(_no_room(greens[int(left[0])], box))
        found = _pressed_in(found, turns, left, choices.seed, tick) if found.rest else found
        found = improved(found, choices.seed, tick=tick)
        pieces = _pieces(found.shared, found.lies, numbers)
        layouts.append(_layout(greens, box, space, pieces, len(layouts) + 1, tick))
        left = np.array(found.rest, dtype=np.int64)
    return Nest(layouts=tuple(layouts))


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


def _pieces(shared: Desk, lies: tuple[Lie, ...], numbers: np.ndarray) -> tuple[Piece, ...]:
    """Pieces of one box; counts on in `numbers`, which runs over the whole order."""
    pieces = []
    for lie in lies:
        form = shared.forms[lie.pose]
        low = np.array([lie.x * shared.column, lie.y * shared.column, lie.z * 1e-3])
        placement = np.eye(4)
        placement[:3, :3] = shared.greens[form.kind].maps[form.turn]
        placement[:3, 3] = low - form.corner + (shared.room.wall, shared.room.wall, shared.room.floor)
        numbers[form.kind] += 1
        pieces.append(
            Piece(part=form.kind, number=int(numbers[form.kind]), turn=form.turn, placement=placement)
        )
    return tuple(pieces)


def _stills(greens: tuple[Green, ...], held: Held, numbers: np.ndarray) -> tuple[Piece, ...]:
    """Pieces of a box in which everything is held."""
    pieces = []
    for still in held.stills:
        placement = np.eye(4)
        placement[:3, :3] = greens[still.part].maps[still.turn]
        placement[:3, 3] = np.array(still.at) - printed(greens[still.part], still.turn).min(axis=0)
        numbers[still.part] += 1
        number = int(numbers[still.part])
        pieces.append(Piece(part=still.part, number=number, turn=still.turn, placement=placement))
    return tuple(pieces)


def _layout(
    greens: tuple[Green, ...], box: Box, space: Room, pieces: tuple[Piece, ...], number: int, tick: Tick
) -> Layout:
    gap, wall = measure(greens, pieces, space, tick=tick)
    tops = [(greens[p.part].shape.vertices @ p.placement[2, :3]).max() + p.placement[2, 3] for p in pieces]
    height = float(max(tops))
    total = sum(volume(greens[piece.part], piece.turn) for piece in pieces)
    return Layout(
        number=number,
        box=box,
        greens=greens,
        pieces=pieces,
        gap_mm=space.gap,
        least_gap_mm=gap,
        wall_gap_mm=wall,
        height_mm=height,
        volume_mm3=total,
        density=total / (space.box[0] * space.box[1] * height),
    )
