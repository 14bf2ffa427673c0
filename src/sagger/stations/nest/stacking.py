"""Lots of one kind stacked by rule: layers of copies in a lattice, every other perhaps turned and shifted.

Two ways are weighed for every allowed orientation: lattices of one shape, layer upon layer of another that
grips into the first; and strips of pairs that grip into each other within a layer.
"""

from __future__ import annotations

import itertools
from typing import NamedTuple

import numpy as np

from sagger.geometry.pile.lowering.columns import NOTHING, Columns, columns
from sagger.geometry.pile.lowering.stacks import StripBed, best_strip, closest, folded, meets, rises
from sagger.goods.green import Green
from sagger.stations.nest.forms import printed
from sagger.stations.nest.room import NestRoom

_SLACK = 1e-6  # [mm] of rounding forgiven when something fills the room exactly

Spot = tuple[int, int, int]  # orientation, columns along y and x


class LayerStack(NamedTuple):
    """Layers that are laid one over the other, over and over."""

    layers: tuple[tuple[Spot, ...], ...]  # one or two
    rises: tuple[int, ...]  # from each layer to the next [um]
    highs: tuple[int, ...]  # height of each layer [um]

    def turned(self) -> LayerStack:
        """The same begun with the other layer."""
        return LayerStack(self.layers[::-1], self.rises[::-1], self.highs[::-1])

    def top(self, count: int) -> int:
        """Top of so many pieces [um]."""
        foot, top, left = 0, 0, count
        for number in itertools.count():
            k = number % len(self.layers)
            top = max(top, foot + self.highs[k])
            left -= len(self.layers[k])
            if left <= 0:
                return top
            foot += self.rises[k]
        raise AssertionError

    def laid(self, count: int) -> list[tuple[int, int, int, int]]:
        """Orientation, columns along y and x, and height [um] of so many pieces, the lowest first."""
        out: list[tuple[int, int, int, int]] = []
        foot = 0
        for number in itertools.count():
            k = number % len(self.layers)
            out += [(turn, y, x, foot) for turn, y, x in self.layers[k]]
            if len(out) >= count:
                return out[:count]
            foot += self.rises[k]
        raise AssertionError


class _PoseFields(NamedTuple):
    """One orientation over columns."""

    turn: int
    fields: Columns
    high: int  # [um]
    places: tuple[int, int]  # columns that it can be moved along y and x


def stacks(green: Green, turns: list[int], room: NestRoom, column: float, count: int) -> list[LayerStack]:
    """Stacks of so many copies over columns of this side [mm], the lowest first."""
    poses = [_lying(green, turn, room, column) for turn in turns]
    found = [*_layered(poses), *_paired(poses)]
    return sorted(found, key=lambda one: one.top(count))


def _lying(green: Green, turn: int, room: NestRoom, column: float) -> _PoseFields:
    at = printed(green, turn)
    at = at - at.min(axis=0)
    extent = at.max(axis=0)
    fields = columns(np.ascontiguousarray(at[green.shape.triangles]), column, room.gap)
    free = [int((room.size[axis] - extent[axis] + _SLACK) // column) + 1 for axis in (1, 0)]
    return _PoseFields(turn, fields, int(np.ceil(extent[2] * 1e3 - 1e-6)), (free[0], free[1]))


def _layered(poses: list[_PoseFields]) -> list[LayerStack]:
    """Lattices of one shape, and of another with the same steps over it."""
    met = [meets(one.fields, one.fields) for one in poses]
    steps = [(closest(table, 0), closest(table, 1)) for table in met]
    own = [
        int(folded(rises(one.fields, one.fields), *step)[0, 0])
        for one, step in zip(poses, steps, strict=True)
    ]
    out = []
    for a, b in itertools.combinations_with_replacement(range(len(poses)), 2):
        if steps[a] == steps[b]:
            up = folded(rises(poses[a].fields, poses[b].fields), *steps[a])
            down = folded(rises(poses[b].fields, poses[a].fields), *steps[a])
            found = _alternating((poses[a], poses[b]), steps[a], (up, down, max(own[a], own[b])))
            out += [turned for one in found for turned in (one, one.turned())]
    return out


def _alternating(
    pair: tuple[_PoseFields, _PoseFields], step: tuple[int, int], over: tuple[np.ndarray, np.ndarray, int]
) -> list[LayerStack]:
    """The stack of two layers that holds most for its height, with the second shifted."""
    up, down, same = over
    best: tuple[float, LayerStack] | None = None
    for y, x in itertools.product(range(step[0]), range(step[1])):
        first = max(0, int(up[y, x]))
        second = max(0, int(down[-y % step[0], -x % step[1]]), same - first)
        for from_y, from_x in itertools.product(*({0, -d % s} for d, s in zip((y, x), step, strict=True))):
            at = (from_y, from_x), ((y + from_y) % step[0], (x + from_x) % step[1])
            counts = [_many(one.places, start, step) for one, start in zip(pair, at, strict=True)]
            if min(counts) == 0:
                continue
            worth = (first + second) / sum(counts)
            if best is None or worth < best[0]:
                layers = tuple(_grid(one, start, step) for one, start in zip(pair, at, strict=True))
                best = worth, LayerStack(layers, (first, second), (pair[0].high, pair[1].high))
    return [best[1]] if best else []


def _many(places: tuple[int, int], start: tuple[int, int], step: tuple[int, int]) -> int:
    return int(np.prod([max(0, (p - 1 - s) // d + 1) for p, s, d in zip(places, start, step, strict=True)]))


def _grid(one: _PoseFields, start: tuple[int, int], step: tuple[int, int]) -> tuple[Spot, ...]:
    return tuple(
        (one.turn, y, x)
        for y in range(start[0], one.places[0], step[0])
        for x in range(start[1], one.places[1], step[1])
    )


def _paired(poses: list[_PoseFields]) -> list[LayerStack]:
    """Strips of pairs along x and along y; orientations with the same outline count as one."""
    outlines: dict[bytes, _PoseFields] = {}
    for one in poses:
        mask = one.fields.under < NOTHING
        outlines.setdefault(mask.tobytes() + repr((mask.shape, one.high)).encode(), one)
    out = []
    for a, b in itertools.product(outlines.values(), repeat=2):
        for axis in (0, 1):
            layer = _strip(a, b, axis)
            if layer:
                high = max(a.high, b.high)
                over = max(
                    int(rises(p.fields, q.fields).max()) for p, q in itertools.product((a, b), repeat=2)
                )
                out.append(LayerStack((layer,), (over,), (high,)))
    return out


def _strip(a: _PoseFields, b: _PoseFields, axis: int) -> tuple[Spot, ...]:
    """The layer of strips of the pair, along y (0) or x (1), with most pieces."""
    own, pair, other = (
        np.ascontiguousarray(table if axis else table.T)
        for table in (meets(p.fields, q.fields) for p, q in ((a, a), (a, b), (b, b)))
    )
    (ay, ax), (by, bx) = (one.fields.under.shape[:: 1 if axis else -1] for one in (a, b))
    places = [one.places[:: 1 if axis else -1] for one in (a, b)]
    # a shape may not begin past its last place, which is nearer than the room's end by part of a column
    deep = min(places[0][0] + ay, places[1][0] + by) - 1
    wide = min(places[0][1] + ax, places[1][1] + bx) - 1
    count, dy, dx, period, across = best_strip(own, pair, other, StripBed(deep, wide, (ay, ax, by, bx)))
    if not count:
        return ()
    first = _spots(a.turn, range(max(0, -dy), deep - ay + 1, across), range(0, wide - ax + 1, period), axis)
    second = range(dy + max(0, -dy), deep - by + 1, across), range(dx, wide - bx + 1, period)
    return (*first, *_spots(b.turn, *second, axis))


def _spots(turn: int, rows: range, cols: range, axis: int) -> list[Spot]:
    return [(turn, j, i) if axis else (turn, i, j) for j in rows for i in cols]
