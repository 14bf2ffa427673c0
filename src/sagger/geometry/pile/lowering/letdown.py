"""Let shapes down into a box one by one: the compiled part of filling. [y, x] columns, heights in um.

A bed keeps, for every pose that may still come, the lowest free height over each place, and a coarse field
of how near the walls and the shapes already there are.
"""

from __future__ import annotations

from typing import NamedTuple, Protocol

import numpy as np
from numpy import ndarray

from sagger.compiled import checked
from sagger.geometry.pile.lowering.columns import NOTHING, Columns
from sagger.geometry.pile.lowering.nearness import CAP, halo, lower_field, marks
from sagger.geometry.pile.lowering.nofit import lowest, raise_floor

_MARKS = 96  # of a shape's surface
_ROUGH = 12  # of them are used in the first look
_CLOSER = 96  # places of one piece that get the second look
_MOST = 40_000  # places of one piece that get the first


class Sizes(NamedTuple):
    """What the compiled part needs to know of poses."""

    high: np.ndarray  # int64 (k,) [um]
    places: np.ndarray  # int64 (k, 2): columns it can be moved along y and x
    start: np.ndarray  # int64 (k,): of its floor in the row of all floors
    under: np.ndarray  # int64 (k, 2): columns of its underside along y and x
    reach: np.ndarray  # int64 (k, 2): columns of its reach
    pad: int  # columns the reach goes beyond the underside
    marks: np.ndarray  # int64 (k, 96, 3): points of its surface, coarse cells (z, y, x)
    tops: np.ndarray  # int32: reach of all poses, one after the other [um]
    first: np.ndarray  # int64 (k,): of each pose in `tops`
    table: np.ndarray  # int64 (k, k): start of the table of [lying, coming] in the pool, -1 if not made yet
    liking: Liking


class Liking(NamedTuple):
    """Where poses should rather lie."""

    off: np.ndarray  # float64 (nz, ny, nx), equal cells of the box: 0 where it is best, 1 where it is worst
    pull: np.ndarray  # float64 (k,) [um]: what a pose gives to lie best instead of worst; 0 = nothing
    cells: np.ndarray  # float64 (3,): cells of `off` in a micrometre of z, in a column along y and along x


class LikedPoses(Protocol):
    """What tells how a place is liked: the sizes of poses have it, and the tables of a pile."""

    @property
    def liking(self) -> Liking: ...
    @property
    def high(self) -> np.ndarray: ...  # int64 (k,) [um]
    @property
    def under(self) -> np.ndarray: ...  # int64 (k, 2): columns they take along y and x


def no_liking(count: int) -> Liking:
    """For `count` poses that may lie anywhere."""
    return Liking(np.zeros((1, 1, 1)), np.zeros(count), np.zeros(3))


class Poses:
    """Poses and, as far as needed yet, the tables of lowest heights of one over another, in one pool."""

    def __init__(
        self,
        fields: list[Columns],
        high: np.ndarray,
        places: np.ndarray,
        masks: list[np.ndarray],
        liking: Liking,
    ):
        size, area = places.prod(axis=1), np.array([one.reach.size for one in fields])
        self.fields, self.masks = fields, masks
        self.sizes = Sizes(
            high=high.astype(np.int64),
            places=places.astype(np.int64),
            start=np.cumsum(size) - size,
            under=np.array([one.under.shape for one in fields], dtype=np.int64),
            reach=np.array([one.reach.shape for one in fields], dtype=np.int64),
            pad=fields[0].pad,
            marks=np.array([np.resize(marks(mask, _MARKS), (_MARKS, 3)) for mask in masks]),
            tops=np.concatenate([one.reach.ravel() for one in fields]),
            first=np.cumsum(area) - area,
            table=np.full((len(fields), len(fields)), -1, dtype=np.int64),
            liking=liking,
        )
        self.halos: dict[int, np.ndarray] = {}
        self.pool, self._used = np.empty(1 << 20, dtype=np.int32), 0

    def know(self, lying: int, coming: np.ndarray) -> None:
        """Make the tables of one lying pose that are missing."""
        for pose in coming[self.sizes.table[lying, coming] < 0]:
            made = lowest(self.fields[lying].reach, self.fields[pose].under).ravel()
            if self._used + made.size > self.pool.size:
                larger = np.empty(2 * self.pool.size + made.size, dtype=np.int32)
                larger[: self._used] = self.pool[: self._used]
                self.pool = larger
            self.pool[self._used : self._used + made.size] = made
            self.sizes.table[lying, pose] = self._used
            self._used += made.size


class OpenBox(NamedTuple):
    """One box while it is being filled."""

    floors: np.ndarray  # int32: lowest free heights of all poses, one after the other [um]
    field: np.ndarray  # uint8 (z, y, x): nearness, coarse cells
    surface: np.ndarray  # int32 (ny, nx): top of what lies there, its gap included [um]


class LetdownRule(NamedTuple):
    """What counts when two places are compared."""

    snug: float  # [um] weight of the mean distance to what lies around, as a share of "far"
    growth: float  # weight of added height
    taken: float  # weight of the height that columns lose, over a square of a middling piece's side
    window: float  # [um] how far above the lowest place is still looked at
    wide: float  # side of a coarse cell over that of a column
    high: float  # side of a coarse cell [um]


def put(
    known: Poses, bed: OpenBox, lie: tuple[int, int, int, int], live: np.ndarray, rule: LetdownRule
) -> None:
    """Lay pose, y, x, z down in the bed; only the `live` poses (int64) will be asked for later."""
    pose, y, x, z = lie
    known.know(pose, live)
    _raise_all(bed.floors, known.sizes, known.pool, lie, live)
    raise_floor(bed.surface, known.fields[pose].reach, y - known.sizes.pad, x - known.sizes.pad, z)
    if pose not in known.halos:
        known.halos[pose] = halo(known.masks[pose])
    at = round(z / rule.high) - CAP, round(y / rule.wide) - CAP, round(x / rule.wide) - CAP
    lower_field(bed.field, known.halos[pose], *at)


@checked
def _raise_all(
    floors: ndarray, s: Sizes, pool: ndarray, lie: tuple[int, int, int, int], live: ndarray
) -> None:
    """Raise the floors of all live poses by one pose that lies at y, x, z."""
    pose, y, x, z = lie
    for k in range(live.shape[0]):
        coming = live[k]
        rows, cols = s.places[coming, 0], s.places[coming, 1]
        floor = floors[s.start[coming] : s.start[coming] + rows * cols].reshape(rows, cols)
        deep = s.reach[pose, 0] + s.under[coming, 0] - 1
        wide = s.reach[pose, 1] + s.under[coming, 1] - 1
        first = s.table[pose, coming]
        mask = pool[first : first + deep * wide].reshape(deep, wide)
        raise_floor(floor, mask, y - s.pad - s.under[coming, 0] + 1, x - s.pad - s.under[coming, 1] + 1, z)


@checked
def disliked(s: LikedPoses, pose: int, y: int, x: int, z: float) -> float:
    """How much worse a place is than the best of the box for this pose [um]."""
    pull = s.liking.pull[pose]
    if pull == 0.0:
        return 0.0
    off, cells = s.liking.off, s.liking.cells
    k = min(int((z + 0.5 * s.high[pose]) * cells[0]), off.shape[0] - 1)
    j = min(int((y + 0.5 * s.under[pose, 0]) * cells[1]), off.shape[1] - 1)
    i = min(int((x + 0.5 * s.under[pose, 1]) * cells[2]), off.shape[2] - 1)
    return float(pull * off[k, j, i])


@checked
def _corners(floor: ndarray, most: int, out: ndarray, pose: int, count: int) -> int:
    """Hollows of `floor` (rows, cols): a piece let down there lies still, and against something on two sides.

    Writes pose, y, x, z of those not above `most` to out[count:] and gives the number of all written.
    """
    deep, wide = floor.shape
    for y in range(deep):
        for x in range(wide):
            z = floor[y, x]
            if z > most:
                continue
            left = floor[y, x - 1] if x > 0 else NOTHING
            right = floor[y, x + 1] if x < wide - 1 else NOTHING
            front = floor[y - 1, x] if y > 0 else NOTHING
            back = floor[y + 1, x] if y < deep - 1 else NOTHING
            if min(left, right, front, back) < z or max(left, right) == z or max(front, back) == z:
                continue
            if count == out.shape[0]:
                return count
            out[count, 0], out[count, 1], out[count, 2], out[count, 3] = pose, y, x, z
            count += 1
    return count


@checked
def _score(
    place: ndarray, s: Sizes, count: int, near: tuple[ndarray, tuple[int, ...]], rule: LetdownRule, top: int
) -> float:
    """How good one place is [um]: less is better. `near` is the bed's field in one row, and its shape."""
    field, shape = near
    pose, z, total = place[0], place[3], 0
    at = (int(z / rule.high + 0.5) * shape[1] + int(place[1] / rule.wide + 0.5)) * shape[2]
    at += int(place[2] / rule.wide + 0.5)
    for n in range(count):
        total += field[
            at + (s.marks[pose, n, 0] * shape[1] + s.marks[pose, n, 1]) * shape[2] + s.marks[pose, n, 2]
        ]
    low = z + 0.5 * s.high[pose] + rule.growth * max(0, z + s.high[pose] - top)
    low += disliked(s, pose, place[1], place[2], z)
    return float(low + rule.snug * total / (count * CAP))


@checked
def _taken(place: ndarray, s: Sizes, surface: ndarray) -> float:
    """Height that columns lose to one piece, what is shut in under it included, summed over columns [um]."""
    pose, total = place[0], 0
    deep, wide = s.reach[pose, 0], s.reach[pose, 1]
    y, x = place[1] - s.pad, place[2] - s.pad
    for j in range(max(0, -y), min(deep, surface.shape[0] - y)):
        at = s.first[pose] + j * wide
        for i in range(max(0, -x), min(wide, surface.shape[1] - x)):
            total += max(0, s.tops[at + i] + place[3] - surface[y + j, x + i])
    return float(total)


@checked
def _places(mine: ndarray, s: Sizes, bed: OpenBox, window: float, ceiling: int) -> ndarray:
    """Hollows (n, 4) of all poses of one piece, not more than `window` above the lowest of them."""
    base, lows = 2.0**62, np.empty(mine.shape[0], np.int64)
    for k in range(mine.shape[0]):
        pose = mine[k]
        lows[k] = bed.floors[s.start[pose] : s.start[pose] + s.places[pose, 0] * s.places[pose, 1]].min()
        if lows[k] + s.high[pose] <= ceiling:
            base = min(base, lows[k] + 0.5 * s.high[pose])
    places, count = np.empty((_MOST, 4), np.int64), 0
    for k in range(mine.shape[0]):
        pose = mine[k]
        if lows[k] + s.high[pose] <= ceiling and lows[k] + 0.5 * s.high[pose] <= base + window:
            rows, cols = s.places[pose, 0], s.places[pose, 1]
            floor = bed.floors[s.start[pose] : s.start[pose] + rows * cols].reshape(rows, cols)
            count = _corners(floor, min(lows[k] + int(window), ceiling - s.high[pose]), places, pose, count)
    return places[:count]


@checked
def best(
    mine: ndarray, s: Sizes, bed: OpenBox, rule: LetdownRule, top: int, ceiling: int
) -> tuple[int, int, int, int]:
    """Pose, y, x, z of the snuggest low place for one piece; pose -1 if there is none below the ceiling.

    Parameters
    ----------
    mine : ndarray
        int64: poses the piece may take.
    s : Sizes
        Of all poses.
    top, ceiling : int
        Height of the pile so far, and how far it may grow [um].
    """
    places = _places(mine, s, bed, rule.window, ceiling)
    count, near = places.shape[0], (bed.field.ravel(), bed.field.shape)
    score = np.empty(count)
    for k in range(count):
        score[k] = _score(places[k], s, _ROUGH, near, rule, top)
    enough = np.partition(score, _CLOSER)[_CLOSER] if count > _CLOSER else np.inf
    pick, least = -1, np.inf
    for k in range(count):
        if score[k] <= enough:
            exact = _score(places[k], s, _MARKS, near, rule, top)
            exact += rule.taken * _taken(places[k], s, bed.surface)
            if exact < least:
                pick, least = k, exact
    if pick < 0:
        return -1, 0, 0, 0
    return places[pick, 0], places[pick, 1], places[pick, 2], places[pick, 3]
