"""Each piece at the oversize of its own place: where the bed is packed denser, it shrinks less."""

from __future__ import annotations

import dataclasses

import numpy as np

from sagger.errors import StopError
from sagger.goods.box import Box
from sagger.goods.green import Green
from sagger.goods.layout import Layout, Nest, Piece
from sagger.goods.learned import BedMap
from sagger.goods.order import Choices
from sagger.physics.sintering import shrinkage
from sagger.stations.nest.check import measure
from sagger.stations.nest.emptying import in_order
from sagger.stations.nest.forms import printed
from sagger.stations.nest.pack import pack
from sagger.stations.nest.room import NestRoom, room
from sagger.stations.nest.search import volume
from sagger.statistics import field
from sagger.tick import Tick, silent

STEP = 1e-4  # oversize differs by whole steps, so that copies at like places share their sections


def pack_by_place(
    greens: tuple[Green, ...], box: Box, choices: Choices, bed: BedMap, *, tick: Tick = silent
) -> Nest:
    """As `pack`, then each piece enlarged or reduced about its middle to suit the green density there.

    Pieces are nested a little farther apart, by what they may grow, so the gap that was asked for holds; the
    exact check looks at them as they are printed.

    Raises
    ------
    StopError
        As `pack`; also if a piece grown to its own size no longer fits between the walls.
    """
    space = room(box, choices)
    grows = _most(greens, box, bed)
    gap_z = choices.nesting.gap_z_mm
    nesting = dataclasses.replace(choices.nesting, gap_z_mm=None if gap_z is None else gap_z + 4 * grows)
    wider = dataclasses.replace(choices, gap_mm=space.gap + 4 * grows, nesting=nesting)
    # Seen without the stretch, what certainly holds is the smaller of the two gaps.
    least = dataclasses.replace(choices.nesting, gap_z_mm=None)
    space = room(box, dataclasses.replace(choices, gap_mm=space.gap / max(1.0, space.stretch), nesting=least))
    wishes = bed if choices.nesting.places != "any" else None
    layouts = pack(greens, box, wider, wishes, tick=tick).layouts
    return Nest(layouts=tuple(_scaled(layout, space, bed, tick) for layout in layouts))


def oversize_at(bed: BedMap, at_mm: np.ndarray) -> np.ndarray:
    """Own oversize over that of the factors at places (n, 3) in the box [-], in whole steps."""
    of = field.FieldModel(bed.axes, bed.amplitude, bed.reach_mm, bed.noise)
    density = field.seen(bed.places_mm, bed.density, of, at_mm).mean
    exact = shrinkage.own_oversize(density, bed.reference)
    return np.asarray(np.round(exact / STEP) * STEP)


def _most(greens: tuple[Green, ...], box: Box, bed: BedMap) -> float:
    """Most by which a piece's surface may move when it takes its own size [mm]."""
    size = np.array([box.length_x.value, box.length_y.value, box.length_z.value]) * 1e3
    grid = np.stack(np.meshgrid(*(np.linspace(0, 1, 9),) * 3, indexing="ij"), axis=-1).reshape(-1, 3)
    change = np.abs(oversize_at(bed, grid * size) - 1).max()
    half = max(
        float(np.linalg.norm(np.ptp(printed(green, turn), axis=0))) / 2
        for green in greens
        for turn in range(len(green.maps))
    )
    return float(change * half)


def _scaled(layout: Layout, space: NestRoom, bed: BedMap, tick: Tick) -> Layout:
    ends = [_ends(layout.greens[piece.part], piece.placement) for piece in layout.pieces]
    middles = np.array([(low + high) / 2 for low, high in ends])
    own = oversize_at(bed, middles)
    pieces = tuple(
        _at_own_size(piece, layout, float(scale), middle, space)
        for piece, scale, middle in zip(layout.pieces, own, middles, strict=True)
    )
    gap, wall = measure(layout.greens, pieces, space, tick=tick)
    pieces, departures = in_order(layout.greens, pieces, layout.lift, tick=tick)
    height = max(_ends(layout.greens[piece.part], piece.placement)[1][2] for piece in pieces)
    total = sum(
        volume(layout.greens[piece.part], piece.turn) * scale**3
        for piece, scale in zip(pieces, own, strict=True)
    )
    return dataclasses.replace(
        layout,
        pieces=pieces,
        departures=departures,
        gap_mm=space.gap,
        least_gap_mm=gap,
        wall_gap_mm=wall,
        height_mm=float(height),
        volume_mm3=float(total),
        density=float(total / (space.box[0] * space.box[1] * height)),
    )


def _at_own_size(piece: Piece, layout: Layout, scale: float, middle: np.ndarray, space: NestRoom) -> Piece:
    """The piece enlarged about its middle, moved in from a wall that it would come too close to."""
    placement = piece.placement.copy()
    placement[:3, :3] *= scale
    placement[:3, 3] = middle + scale * (piece.placement[:3, 3] - middle)
    low, high = _ends(layout.greens[piece.part], placement)
    least = np.array([space.wall, space.wall, space.floor])
    most = np.array(space.box) - least
    if np.any(high - low > most - least + 1e-6):
        name = layout.greens[piece.part].part.request.name
        raise StopError(
            f"{name!r} fits into the box at the mean oversize, but not at that of its own place, "
            f"{scale:.4f} times larger; take a larger box, or leave by_place out"
        )
    placement[:3, 3] += np.maximum(least - low, 0.0) - np.maximum(high - most, 0.0)
    return dataclasses.replace(piece, placement=placement)


def _ends(green: Green, placement: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    at = green.shape.vertices @ placement[:3, :3].T + placement[:3, 3]
    return at.min(axis=0), at.max(axis=0)
