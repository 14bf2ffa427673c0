"""Where each piece of an order lies, in as few and as low boxes as we can find."""

from __future__ import annotations

import dataclasses
from functools import partial

import numpy as np

from sagger.goods.box import Box
from sagger.goods.finding import Finding
from sagger.goods.green import Green
from sagger.goods.layout import Layout, Nest, Piece
from sagger.goods.learned import BedMap
from sagger.goods.order import Choices
from sagger.stations.nest import emptying
from sagger.stations.nest.boxes import Task, in_equal_shares, one_by_one, task_of
from sagger.stations.nest.check import measure
from sagger.stations.nest.forms import printed
from sagger.stations.nest.held import NOTHING_HELD, HeldPieces, asked, zones
from sagger.stations.nest.laid import in_the_box
from sagger.stations.nest.levers import weighed
from sagger.stations.nest.look import bound, filling, poses, profile
from sagger.stations.nest.orient import with_price
from sagger.stations.nest.places import told
from sagger.stations.nest.room import room, stretched
from sagger.stations.nest.search import volume
from sagger.stations.nest.spread import spread
from sagger.tick import Tick, silent

_SLAB_MM = 0.5  # height from one look at the printed area to the next


def pack(
    greens: tuple[Green, ...], box: Box, choices: Choices, bed: BedMap | None = None, *, tick: Tick = silent
) -> Nest:
    """Every copy of every part in a box, with the gap kept, each free to be taken out.

    Parameters
    ----------
    greens : tuple of Green
        Parts with their allowed orientations; `part.request.quantity` copies of each are placed, and what
        a request wants held lies at the same spots in every box.
    box : Box
        The job box; its gaps to walls and floor always hold, its gap between pieces unless `choices` say.
    choices : Choices
        `gap_mm` and the `seed`: the same seed and input give the same layout to the last bit.
    bed : BedMap or None
        Needed where `nesting.places` is "by tolerance".

    Returns
    -------
    Nest
        As many layouts as boxes are needed. In the reverse of the order in which the pieces of a layout
        stand each can be taken out as `nesting.lift` wants; findings say by which search it was pressed.

    Raises
    ------
    StopError
        If a part fits into the box in none of its orientations, or if the exact check finds a gap violated.

    Source
    ------
    Pieces are let down one by one where they lie low and close to others; lowest heights over square
    columns say where they may lie. Then the whole is pressed lower: overlap removal under a falling ceiling
    after Egeblad, Nielsen and Brazil, Comput. Geom. 42 (2009) 269; up to a few hundred pieces by moves that
    look at the whole box. No spatial frequencies.
    """

    def nested(parts: tuple[Green, ...], wanted: Choices) -> Nest:
        return _around_held(parts, box, wanted, bed, tick)

    def lies(parts: tuple[Green, ...], wanted: Choices) -> Nest:
        return spread(partial(nested, parts), wanted, room(box, wanted).gap)

    nest = lies(greens, choices)
    if choices.nesting.weigh and nest.layouts:
        nest = weighed(nest, lies, greens, choices, room(box, choices).gap)
    if choices.nesting.prefer != "height":
        nest = with_price(nest, nested(greens, _lowest(choices)), choices.nesting.prefer)
    if choices.nesting.places != "any":
        nest = told(nest, nested(greens, _anywhere(choices)), bed, choices)
    return Nest(layouts=tuple(dataclasses.replace(each, greens=greens) for each in nest.layouts))


def _around_held(
    greens: tuple[Green, ...], box: Box, wanted: Choices, bed: BedMap | None, tick: Tick
) -> Nest:
    """The nest around what the order wants held."""
    space = room(box, wanted)
    held = asked(tuple(stretched(green, space.stretch) for green in greens), space)
    held = held._replace(zones=zones(wanted.nesting.keep_out, space))
    return packed(tuple(_without_held(green) for green in greens), box, wanted, held, bed, tick=tick)


def _lowest(choices: Choices) -> Choices:
    return dataclasses.replace(choices, nesting=dataclasses.replace(choices.nesting, prefer="height"))


def _anywhere(choices: Choices) -> Choices:
    return dataclasses.replace(choices, nesting=dataclasses.replace(choices.nesting, places="any"))


def _without_held(green: Green) -> Green:
    request = green.part.request
    if not request.held:
        return green
    request = dataclasses.replace(request, quantity=max(0, request.quantity - len(request.held)))
    return dataclasses.replace(green, part=dataclasses.replace(green.part, request=request))


def packed(
    greens: tuple[Green, ...], box: Box, choices: Choices, held: HeldPieces = NOTHING_HELD,
    bed: BedMap | None = None, *, tick: Tick = silent,
) -> Nest:  # fmt: skip
    """As `pack`, around what is held in every box; held pieces are copies beyond the order's quantity."""
    if not greens:
        return Nest(layouts=())
    task = task_of(greens, box, choices, held, bed)
    left = np.repeat(np.arange(len(greens)), [green.part.request.started for green in greens])
    numbers = np.zeros(len(greens), dtype=np.int64)
    if not len(left) and held.stills:
        return Nest(layouts=(_layout(task, _stills(task, numbers), 1, tick),))
    boxes = one_by_one(task, left, tick)
    notes: tuple[Finding, ...] = ()
    if choices.nesting.even and len(boxes) > 1:
        boxes, notes = in_equal_shares(task, left, boxes, tick)
    layouts = []
    for number, filled in enumerate(boxes, start=1):
        pieces = in_the_box(task.greens, task.room, filled.pieces, numbers)
        layout = _layout(task, pieces, number, tick)
        layouts.append(dataclasses.replace(layout, findings=(*layout.findings, *filled.notes, *notes)))
    return Nest(layouts=tuple(layouts))


def _stills(task: Task, numbers: np.ndarray) -> tuple[Piece, ...]:
    """Pieces of a box in which everything is held."""
    pieces = []
    for still in task.held.stills:
        placement = np.eye(4)
        placement[:3, :3] = task.greens[still.part].maps[still.turn]
        placement[:3, 3] = np.array(still.at) - printed(task.greens[still.part], still.turn).min(axis=0)
        numbers[still.part] += 1
        number = int(numbers[still.part])
        pieces.append(Piece(part=still.part, number=number, turn=still.turn, placement=placement))
    return tuple(pieces)


def _layout(task: Task, pieces: tuple[Piece, ...], number: int, tick: Tick) -> Layout:
    """The box with everything back at its true height, after an exact look."""
    space, greens, lift = task.room, task.real, task.choices.nesting.lift
    gap, wall = measure(task.greens, pieces, space, tick=tick)
    low = bound(task.greens, pieces, space) / space.stretch
    pieces = tuple(_unstretched(piece, greens, space.stretch) for piece in pieces)
    pieces, departures = emptying.in_order(greens, pieces, lift, tick=tick)
    tops = [(greens[p.part].shape.vertices @ p.placement[2, :3]).max() + p.placement[2, 3] for p in pieces]
    height = float(max(tops))
    total = sum(volume(greens[piece.part], piece.turn) for piece in pieces)
    shares = profile(greens, pieces, np.array([*space.box[:2], height]), _SLAB_MM)
    return Layout(
        number=number,
        box=task.box,
        greens=greens,
        pieces=pieces,
        gap_mm=space.gap,
        gap_z_mm=task.choices.nesting.gap_z_mm,
        least_gap_mm=gap,
        wall_gap_mm=wall,
        height_mm=height,
        volume_mm3=total,
        density=total / (space.box[0] * space.box[1] * height),
        bound_mm=low,
        filling=filling(shares),
        printed_most=float(shares.max()),
        poses=poses(greens, pieces),
        lift=lift,
        departures=departures,
        findings=emptying.told(len(pieces), departures),
    )


def _unstretched(piece: Piece, greens: tuple[Green, ...], stretch: float) -> Piece:
    if stretch == 1.0:
        return piece
    placement = piece.placement.copy()
    placement[:3, :3] = greens[piece.part].maps[piece.turn]
    placement[2, 3] /= stretch
    return dataclasses.replace(piece, placement=placement)
