"""Lots of one kind in rows: copies side by side at their closest spacing, and rows let down like pieces.

For the search a row is just a piece with few places, so it sees further ahead with as much effort.
"""

from __future__ import annotations

import dataclasses
from typing import NamedTuple

import numpy as np

from sagger.geometry.pile.lowering.columns import columns
from sagger.geometry.pile.lowering.stacks import closest, meets
from sagger.goods.green import Green
from sagger.goods.shape import Shape
from sagger.stations.nest.forms import printed
from sagger.stations.nest.room import NestRoom

_SLACK = 1e-6  # [mm] of rounding forgiven when a row fills the room exactly
_MOST_TRIANGLES = 200_000  # of a row; longer ones cost more than they gain


class Row(NamedTuple):
    """Copies of a part side by side."""

    green: Green  # the row as one shape; its maps are those orientations of the part that lie along it alike
    turns: tuple[int, ...]  # the part's orientation for each of them
    axis: int  # of the room along which it lies
    spacing: int  # from copy to copy [columns]
    copies: int


def rows(green: Green, turns: list[int], room: NestRoom, column: float, most: int) -> list[Row]:
    """All ways of laying up to `most` copies in a row along x or y, as long as the room allows.

    Parameters
    ----------
    turns : list of int
        Orientations in which the part fits.
    column : float
        Side of a column [mm], of which spacings are whole multiples.
    """
    groups: dict[tuple[float, ...], list[int]] = {}
    for axis in (0, 1):
        for turn in turns:
            along = np.linalg.inv(green.maps[turn])[:, axis]
            along = along / np.linalg.norm(along)
            first = along[np.flatnonzero(np.abs(along) > 1e-6)[0]]
            key = (axis, *np.round(along * np.sign(first) + 0.0, 6).tolist())
            groups.setdefault(key, []).append(turn)
    made = [_row(green, tuple(some), int(key[0]), (room, column, most)) for key, some in groups.items()]
    return [row for row in made if row is not None]


def _row(green: Green, turns: tuple[int, ...], axis: int, space: tuple[NestRoom, float, int]) -> Row | None:
    room, column, most = space
    spacing = max(_spacing(green, turn, axis, (room.gap, column)) for turn in turns)
    longest = max(float(np.ptp(printed(green, turn)[:, axis])) for turn in turns)
    copies = min(most, int((room.size[axis] - longest + _SLACK) // (spacing * column)) + 1)
    if copies < 2 or copies * len(green.shape.triangles) > _MOST_TRIANGLES:
        return None
    step = np.linalg.inv(green.maps[turns[0]])[:, axis] * spacing * column
    at = green.shape.vertices + np.arange(copies)[:, None, None] * step
    triangles = green.shape.triangles + np.arange(copies)[:, None, None] * len(green.shape.vertices)
    shape = Shape(vertices=at.reshape(-1, 3), triangles=triangles.reshape(-1, 3).astype(np.int32))
    row = dataclasses.replace(green, shape=shape, maps=green.maps[list(turns)])
    return Row(row, turns, axis, spacing, copies)


def _spacing(green: Green, turn: int, axis: int, over: tuple[float, float]) -> int:
    """Least distance of copies in a row that stand clear of each other; `over`: gap and side of a column."""
    at = printed(green, turn)
    at = at - at.min(axis=0)
    fields = columns(np.ascontiguousarray(at[green.shape.triangles]), over[1], over[0])
    return closest(meets(fields, fields), 1 - axis)
