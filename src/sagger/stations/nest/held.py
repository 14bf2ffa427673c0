"""What lies in the box before nesting begins and does not move: pieces at given places, zones kept free."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from sagger.geometry.columns import NOTHING, Columns, columns
from sagger.geometry.nearness import filled, marks
from sagger.goods.green import Green
from sagger.stations.nest.forms import Form, printed
from sagger.stations.nest.room import Room

_ENDLESS = 100_000_000  # [um] a zone reaches this far up and down


class Still(NamedTuple):
    """A piece at a given place, such as a test coupon."""

    part: int
    turn: int
    at: tuple[float, float, float]  # lower corner of the printed piece in the box [mm]; z to a micrometre


class Zone(NamedTuple):
    """A rectangle of the bed in which nothing may lie, at any height; box axes [mm]."""

    low: tuple[float, float]
    high: tuple[float, float]


class Held(NamedTuple):
    stills: tuple[Still, ...] = ()
    zones: tuple[Zone, ...] = ()


NOTHING_HELD = Held()


def still_form(
    still: Still, green: Green, room: Room, column: float, cell: float
) -> tuple[Form, int, int, int]:
    """Form of a still piece over the room's columns, with its place: column along y and x, height [um]."""
    at = printed(green, still.turn)
    corner = at.min(axis=0)
    place = np.array(still.at) - (room.wall, room.wall, room.floor)
    steps = np.floor(place[:2] / column + 1e-9).astype(np.int64)
    shift = np.append(np.maximum(place[:2] - steps * column, 0.0), 0.0)
    at = at - corner
    fields = columns(np.ascontiguousarray((at + shift)[green.shape.triangles]), column, room.gap)
    mask = filled(fields, column, cell)
    extent = at.max(axis=0)
    high = int(np.ceil(extent[2] * 1e3 - 1e-6))
    form = Form(still.part, still.turn, corner - shift, extent, fields, high, (1, 1), mask, marks(mask, 96))
    return form, int(steps[1]), int(steps[0]), round(place[2] * 1e3)


def zone_form(zone: Zone, room: Room, column: float, cell: float, pad: int) -> tuple[Form, int, int, int]:
    """A zone as a form without height that reaches endlessly up and down, with its place."""
    low = np.floor((np.array(zone.low) - room.wall) / column + 1e-9).astype(np.int64)
    high = np.ceil((np.array(zone.high) - room.wall) / column - 1e-9).astype(np.int64)
    wide, deep = np.maximum(high - low, 1)
    under = np.full((deep, wide), -_ENDLESS, dtype=np.int32)
    reach = np.full((deep + 2 * pad, wide + 2 * pad), -NOTHING, dtype=np.int32)
    reach[pad : pad + deep, pad : pad + wide] = _ENDLESS
    cells = np.ceil(np.array([room.size[2], deep * column, wide * column]) / cell).astype(int)
    mask = np.ones(cells, dtype=bool)
    fields = Columns(under, -under, reach, pad)
    nowhere = np.zeros(3)
    form = Form(-1, 0, nowhere, nowhere, fields, 0, (1, 1), mask, marks(mask, 96))
    return form, int(low[1]), int(low[0]), 0
