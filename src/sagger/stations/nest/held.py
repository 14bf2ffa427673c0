"""What lies in the box before nesting begins and does not move: pieces at given places, zones kept free."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from sagger.errors import StopError
from sagger.geometry.pile.lowering.columns import NOTHING, Columns, columns
from sagger.geometry.pile.lowering.nearness import filled, marks
from sagger.goods.green import Green
from sagger.stations.nest.forms import Form, printed
from sagger.stations.nest.room import NestRoom

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


class HeldPieces(NamedTuple):
    stills: tuple[Still, ...] = ()
    zones: tuple[Zone, ...] = ()


NOTHING_HELD = HeldPieces()


def asked(greens: tuple[Green, ...], room: NestRoom) -> HeldPieces:
    """What the order's parts want held: at each spot their pieces side by side along x, a gap between them.

    Raises
    ------
    StopError
        If held pieces come too close to each other or do not fit into the room.
    """
    spots: dict[tuple[float, float, float], list[int]] = {}
    for part, green in enumerate(greens):
        for spot in green.part.request.held:
            spots.setdefault((spot.x, spot.y, spot.z_mm), []).append(part)
    stills, boxes = [], []
    for (x, y, z), parts in spots.items():
        sizes = np.array([np.ptp(printed(greens[part], 0), axis=0) for part in parts])
        wide = sizes[:, 0].sum() + room.gap * (len(parts) - 1)
        at = x * (room.size[0] - wide)
        for part, size in zip(parts, sizes, strict=True):
            low = np.array([at, y * (room.size[1] - size[1]), z * room.stretch])
            _inside(greens[part], low, size, room)
            at_box = low + np.array([room.wall, room.wall, room.floor])
            stills.append(Still(part, 0, (float(at_box[0]), float(at_box[1]), float(at_box[2]))))
            boxes.append((part, low, low + size))
            at += size[0] + room.gap
    _apart(greens, boxes, room.gap)
    return HeldPieces(stills=tuple(stills))


def zones(rectangles: tuple[tuple[float, float, float, float], ...], room: NestRoom) -> tuple[Zone, ...]:
    """Parts of the bed to be kept free, from x, y to x, y [mm], as far as they reach into the room.

    Raises
    ------
    StopError
        If one lies outside the bed or has no area.
    """
    free = []
    for x0, y0, x1, y1 in rectangles:
        if not (0 <= x0 < x1 <= room.box[0] and 0 <= y0 < y1 <= room.box[1]):
            raise StopError(
                f"a zone to be kept free runs from ({x0:g}, {y0:g}) to ({x1:g}, {y1:g}) mm, the bed from "
                f"(0, 0) to ({room.box[0]:g}, {room.box[1]:g}) mm; give two corners inside it, lower first"
            )
        low = max(x0, room.wall), max(y0, room.wall)
        high = min(x1, room.wall + room.size[0]), min(y1, room.wall + room.size[1])
        if low[0] < high[0] and low[1] < high[1]:
            free.append(Zone(low, high))
    return tuple(free)


def _inside(green: Green, low: np.ndarray, size: np.ndarray, room: NestRoom) -> None:
    if np.any(low < -1e-6) or np.any(low + size > np.array(room.size) + 1e-6):
        have = " x ".join(f"{length:.1f}" for length in room.size)
        want = " x ".join(f"{length:.1f}" for length in low + size)
        raise StopError(
            f"{green.part.request.name!r} is to be held where it reaches {want} mm, the room inside the gaps "
            f"is {have} mm; hold fewer or smaller pieces there, or take a larger box"
        )


def _apart(greens: tuple[Green, ...], boxes: list[tuple[int, np.ndarray, np.ndarray]], gap: float) -> None:
    for number, (part, low, high) in enumerate(boxes):
        for other, least, most in boxes[:number]:
            between = float(np.max([least - high, low - most]))
            if between < gap - 1e-6:
                names = greens[part].part.request.name, greens[other].part.request.name
                raise StopError(
                    f"{names[0]!r} and {names[1]!r} are to be held {between:.2f} mm apart, {gap:g} mm are "
                    f"asked; hold fewer or smaller pieces, or take a larger box"
                )


def still_form(
    still: Still, green: Green, room: NestRoom, column: float, cell: float
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


def zone_form(zone: Zone, room: NestRoom, column: float, cell: float, pad: int) -> tuple[Form, int, int, int]:
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
