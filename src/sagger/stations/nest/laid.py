"""Pieces where they were laid in the room."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from sagger.goods.finding import Finding
from sagger.goods.green import Green
from sagger.goods.layout import Piece
from sagger.stations.nest.fill import Desk, PlacedPose
from sagger.stations.nest.forms import printed
from sagger.stations.nest.room import NestRoom


class LaidPiece(NamedTuple):
    """One piece: its part, its orientation, and the lower corner of its outline box in the room [mm]."""

    part: int
    turn: int
    low: tuple[float, float, float]
    held: bool = False  # lies where the order wants it


class FilledBox(NamedTuple):
    """One box as it was filled."""

    pieces: tuple[LaidPiece, ...]
    rest: tuple[int, ...]  # parts of pieces that found no place
    notes: tuple[Finding, ...] = ()


def laid(shared: Desk, lies: tuple[PlacedPose, ...]) -> tuple[LaidPiece, ...]:
    """The pieces of a filling."""
    held = len(shared.forms) - len(shared.first)
    out = []
    for lie in lies:
        shape = shared.forms[lie.pose]
        # a held piece need not begin where its column does
        inset = printed(shared.greens[shape.kind], shape.turn).min(axis=0) - shape.corner
        x, y, z = np.array([lie.x * shared.column, lie.y * shared.column, lie.z * 1e-3]) + inset
        out.append(LaidPiece(shape.kind, shape.turn, (float(x), float(y), float(z)), lie.pose >= held))
    return tuple(out)


def in_the_box(
    greens: tuple[Green, ...], room: NestRoom, pieces: tuple[LaidPiece, ...], numbers: np.ndarray
) -> tuple[Piece, ...]:
    """Pieces of one box; counts on in `numbers` (int64, by part), which runs over the whole order."""
    placed = []
    for piece in pieces:
        green = greens[piece.part]
        placement = np.eye(4)
        placement[:3, :3] = green.maps[piece.turn]
        corner = printed(green, piece.turn).min(axis=0)
        placement[:3, 3] = np.array(piece.low) - corner + (room.wall, room.wall, room.floor)
        numbers[piece.part] += 1
        number = int(numbers[piece.part])
        placed.append(Piece(part=piece.part, number=number, turn=piece.turn, placement=placement))
    return tuple(placed)
