"""Fill one box, piece by piece, each let down from above to the place where it lies snugly.

Because every piece came down freely, every piece can be lifted out again, the last one first.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from sagger.geometry.nearness import CAP, empty_box, halo, loose, lower_field
from sagger.geometry.nofit import corners, lowest, raise_floor
from sagger.goods.green import Green
from sagger.stations.nest.forms import Form, form, pitch, printed
from sagger.stations.nest.room import Room
from sagger.tick import Tick, silent

_MOST = 6000  # places looked at per form and piece
_ROUGH = 12  # marks of a piece used in the first look; all of them only for the best places
_CLOSER = 48  # places given the second look

Poses = list[tuple[int, int]]  # part and orientation, every one that is allowed
Kinds = list[list[int]]  # for each part, the poses that may be tried


class Lie(NamedTuple):
    """One piece in the room: index of its pose, column along y and x, height [um]."""

    pose: int
    y: int
    x: int
    z: int


class Rule(NamedTuple):
    """What counts when two places are compared; lengths in units of a middling piece."""

    snug: float = 2.5  # weight of the mean distance to what lies around
    growth: float = 1.0  # weight of added build height
    window: float = 1.0  # how far above the lowest place is still looked at


class Desk(NamedTuple):
    """What all fillings with one width of columns share; forms and tables are made when first needed."""

    greens: tuple[Green, ...]
    poses: Poses
    room: Room
    column: float  # side of a column [mm]
    cell: float  # side of a coarse cell [mm]
    size: float  # of a middling piece [mm]
    forms: dict[int, Form]
    masks: dict[tuple[int, int], np.ndarray]  # lowest heights of one pose over another
    halos: dict[int, np.ndarray]


def desk(greens: tuple[Green, ...], poses: Poses, room: Room, fine: float) -> Desk:
    """An empty desk; about `fine` columns lie across a middling piece."""
    extents = np.array([np.ptp(printed(greens[kind], turn), axis=0) for kind, turn in poses])
    column, size = pitch(extents, room, fine), float(np.median(np.cbrt(extents.prod(axis=1))))
    cell = max(size / 16, max(room.size) / 250, column)
    return Desk(greens, poses, room, column, cell, size, {}, {}, {})


def ready(shared: Desk, kinds: Kinds, *, tick: Tick = silent) -> None:
    """Make the forms of all poses in `kinds` that are not there yet."""
    missing = [pose for some in kinds for pose in some if pose not in shared.forms]
    for pose in tick.over(missing, "tracing shapes"):
        kind, turn = shared.poses[pose]
        shared.forms[pose] = form(shared.greens[kind], kind, turn, shared.room, shared.column, shared.cell)


class Bed:
    """One box while it is being filled: lowest free heights per pose, and the field of nearness."""

    def __init__(self, shared: Desk, kinds: Kinds):
        room, cell = shared.room, shared.cell
        self.shared, self.kinds, self.height = shared, kinds, 0
        used = [pose for some in kinds for pose in some]
        self.floors = {pose: np.zeros(shared.forms[pose].places, dtype=np.int32) for pose in used}
        cells = [int(np.ceil(length / cell)) for length in room.size]
        self.field = empty_box((cells[2], cells[1], cells[0]), round(room.gap / cell), 3)

    def put(self, lie: Lie, live: list[int]) -> None:
        """Lay a piece down; only the `live` poses will be asked for later."""
        one = self.shared.forms[lie.pose]
        pad = one.fields.pad
        for pose in live:
            deep, wide = self.shared.forms[pose].fields.under.shape
            mask = self._mask(lie.pose, pose)
            raise_floor(self.floors[pose], mask, lie.y - pad - deep + 1, lie.x - pad - wide + 1, lie.z)
        self.height = max(self.height, lie.z + one.height)
        if lie.pose not in self.shared.halos:
            self.shared.halos[lie.pose] = halo(one.mask)
        z, y, x = self._cells(np.array([[lie.y, lie.x]]), np.array([lie.z]))[0]
        lower_field(self.field, self.shared.halos[lie.pose], z - CAP, y - CAP, x - CAP)

    def _mask(self, lying: int, coming: int) -> np.ndarray:
        known = self.shared.masks.get((lying, coming))
        if known is None:
            forms = self.shared.forms
            known = lowest(forms[lying].fields.reach, forms[coming].fields.under)
            self.shared.masks[lying, coming] = known
        return known

    def _cells(self, places: np.ndarray, z: np.ndarray) -> np.ndarray:
        out = np.empty((len(places), 3), dtype=np.int64)
        out[:, 0] = np.rint(z / (1e3 * self.shared.cell))
        out[:, 1:] = np.rint(places * (self.shared.column / self.shared.cell))
        return out

    def best(self, kind: int, rule: Rule) -> Lie | None:
        """Snuggest low place for one copy of a part, or None if the box is full for it."""
        forms, top = self.shared.forms, int(self.shared.room.size[2] * 1e3 + 1e-3)
        lows = {pose: int(self.floors[pose].min()) for pose in self.kinds[kind]}
        lows = {pose: low for pose, low in lows.items() if low + forms[pose].height <= top}
        if not lows:
            return None
        base = min(low + forms[pose].height // 2 for pose, low in lows.items())
        window = int(rule.window * self.shared.size * 1e3)
        rated = [
            self._rated(pose, min(low + window, top - forms[pose].height), rule)
            for pose, low in lows.items()
            if low + forms[pose].height // 2 <= base + window
        ]
        return min(rated)[1]

    def _rated(self, pose: int, most: int, rule: Rule) -> tuple[float, Lie]:
        """The best place of one pose, and its score in mm: less is better."""
        form = self.shared.forms[pose]
        places = np.empty((_MOST, 2), dtype=np.int64)
        places = places[: corners(self.floors[pose], most, places)]
        z = self.floors[pose][places[:, 0], places[:, 1]].astype(np.int64)
        low = z + form.height / 2 + rule.growth * np.maximum(0, z + form.height - self.height)
        cells, weight = self._cells(places, z), rule.snug * self.shared.size
        score = low * 1e-3 + weight * self._loose(form.marks[:_ROUGH], cells)
        if len(score) > _CLOSER:
            few = np.argpartition(score, _CLOSER)[:_CLOSER]
            few.sort()
            places, z, low, cells = places[few], z[few], low[few], cells[few]
        score = low * 1e-3 + weight * self._loose(form.marks, cells)
        pick = int(np.argmin(score))
        return float(score[pick]), Lie(pose, int(places[pick, 0]), int(places[pick, 1]), int(z[pick]))

    def _loose(self, marks: np.ndarray, cells: np.ndarray) -> np.ndarray:
        out = np.empty(len(cells))
        loose(self.field, marks, cells, out)
        return out


def fill(
    shared: Desk, kinds: Kinds, sequence: np.ndarray, rule: Rule, *, tick: Tick = silent
) -> tuple[list[Lie], np.ndarray]:
    """Fill one box with parts in the given order.

    Parameters
    ----------
    shared : Desk
        Holds the forms of all poses in `kinds`.
    sequence : ndarray
        int64 (n,): index of the part of each piece, in placing order.

    Returns
    -------
    list of Lie, ndarray
        The pieces that found a place, in placing order, and the sequence of those that did not.
    """
    waiting = np.bincount(sequence, minlength=len(kinds))
    bed = Bed(shared, [some if waiting[kind] else [] for kind, some in enumerate(kinds)])
    lies: list[Lie] = []
    left: list[int] = []
    for kind in tick.over([int(kind) for kind in sequence], "placing pieces"):
        waiting[kind] -= 1
        lie = None if kind in left else bed.best(kind, rule)
        if lie is None:
            left.append(kind)
            continue
        open_kinds = [other for other in range(len(kinds)) if waiting[other] and other not in left]
        bed.put(lie, [pose for other in open_kinds for pose in kinds[other]])
        lies.append(lie)
    return lies, np.array(left, dtype=np.int64)


def top(shared: Desk, lies: list[Lie]) -> int:
    """Top of the highest piece above the room's floor [um]."""
    return max((lie.z + shared.forms[lie.pose].height for lie in lies), default=0)
