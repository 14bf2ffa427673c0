"""How a finished box can be emptied, piece by piece in straight lines, proven on the exact shapes."""

from __future__ import annotations

import itertools
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.errors import StopError
from sagger.geometry.pile.judge.clearance import ClosedSurface
from sagger.geometry.pile.judge.leaving import Way, leaves, way
from sagger.goods.finding import Finding
from sagger.goods.green import Green
from sagger.goods.layout import Departure, Piece
from sagger.stations.nest.check import surfaces
from sagger.tick import Tick, silent

Direction = tuple[int, int, int]  # along x, y and z of the box

STRAIGHT_UP: Direction = (0, 0, 1)


class Departures(NamedTuple):
    """Pieces (their indices) that can be taken out one after the other, and those that then remain."""

    order: tuple[tuple[int, Direction], ...]  # first to be taken out first, and which way
    stuck: tuple[int, ...]


def directions(lift: str) -> tuple[Direction, ...]:
    """Straight ways that a lift rule allows, the plainest first.

    "up": straight up. "sideways": also level and slanting upwards, for which the cake must stand free of the
    walls. "any" and "none": also downwards, 26 in all.
    """
    if lift == "up":
        return (STRAIGHT_UP,)
    ways = [(x, y, z) for x, y, z in itertools.product((-1, 0, 1), repeat=3) if x or y or z]
    ways = [step for step in ways if lift != "sideways" or step[2] >= 0]
    sides = {step: abs(step[0]) + abs(step[1]) for step in ways}
    ways.sort(key=lambda step: (step != STRAIGHT_UP, step[2] < 0, step[2] != 0, sides[step]))
    return tuple(ways)


def in_order(
    greens: tuple[Green, ...], pieces: tuple[Piece, ...], lift: str, *, tick: Tick = silent
) -> tuple[tuple[Piece, ...], tuple[Departure, ...]]:
    """The pieces so ordered that in the reverse order each can leave the box, and how it leaves.

    Parameters
    ----------
    pieces : tuple of Piece
        In the order in which they were laid, if there was one: it is kept where it leads out.
    lift : str
        "up", "sideways", "any" or "none"; with "none" pieces that cannot leave come first, and do not depart.

    Raises
    ------
    StopError
        If some piece cannot leave as the rule wants: such a box must not be printed.
    """
    trees, at = surfaces(greens, pieces)
    unpacked = emptied(trees, at, list(range(len(pieces)))[::-1], directions(lift), tick=tick)
    if unpacked.stuck and lift != "none":
        raise StopError(_stuck(greens, [pieces[number] for number in unpacked.stuck], lift))
    ordered = [*unpacked.stuck, *(number for number, _ in reversed(unpacked.order))]
    leaving = tuple(
        Departure(part=pieces[number].part, number=pieces[number].number, way=step)
        for number, step in unpacked.order
    )
    return tuple(pieces[number] for number in ordered), leaving


def told(pieces: int, departures: tuple[Departure, ...]) -> tuple[Finding, ...]:
    """What must be known before a box of so many pieces is emptied."""
    aside = sum(each.way != STRAIGHT_UP for each in departures)
    stay = pieces - len(departures)
    if stay:
        return (
            Finding(
                level="stop",
                what="cannot be emptied",
                text=f"{stay} of {pieces} pieces cannot leave in a straight line: a nest for comparisons.",
                source="choices",
                remedy='Do not print it; nest with lift = "up", "sideways" or "any".',
            ),
        )
    if not aside:
        return ()
    return (
        Finding(
            level="look",
            what="emptied sideways",
            text=f"{aside} of {pieces} pieces do not leave straight up; the cake must be free of the walls.",
            source="choices",
            remedy="Raise the cake out of the box and take loose powder away from its sides first.",
        ),
    )


def emptied(
    surfaces: list[ClosedSurface], at: ndarray, wish: list[int], ways: tuple[Direction, ...],
    *, tick: Tick = silent,
) -> Departures:  # fmt: skip
    """Take pieces out as long as one can leave in a straight line without meeting any that is still there.

    Parameters
    ----------
    surfaces : list of ClosedSurface
        Of each piece, turned as it lies.
    at : ndarray
        float64 (n, 3): where the surface's origin lies [mm].
    wish : list of int
        Pieces in the order in which they should rather leave.
    ways : tuple of Direction
        The first that lets any piece go is taken, so that the plainer ways are used as far as they lead.
    """
    bed = _Cake(surfaces, at, ways)
    order: list[tuple[int, Direction]] = []
    left = list(wish)
    while left:
        gone = bed.sweep(left, tick)
        if not gone:
            break
        order += gone
        departed = {piece for piece, _ in gone}
        left = [piece for piece in left if piece not in departed]
    return Departures(tuple(order), tuple(left))


class _Cake:
    """What still lies there, and for each piece and way one piece known to be in it."""

    def __init__(self, surfaces: list[ClosedSurface], at: ndarray, ways: tuple[Direction, ...]):
        self.surfaces, self.at, self.ways = surfaces, at, [(step, way(step)) for step in ways]
        self.boxes = np.array([one.box for one in surfaces]) + np.tile(at, 2)
        self.here = np.ones(len(at), dtype=bool)
        self.blocked: dict[tuple[int, Direction], int] = {}

    def sweep(self, left: list[int], tick: Tick) -> list[tuple[int, Direction]]:
        """Every piece in turn that can leave by the first way that lets any go; only one by other ways."""
        for number, (step, out) in enumerate(self.ways):
            gone = []
            for piece in tick.over(left, "proving that the box can be emptied"):
                if self._free(piece, step, out):
                    self.here[piece] = False
                    gone.append((piece, step))
                    if number:
                        return gone
            if gone:
                return gone
        return []

    def _free(self, piece: int, step: Direction, out: Way) -> bool:
        known = self.blocked.get((piece, step))
        if known is not None and self.here[known]:
            return False
        for other in self._in_the_way(piece, out):
            if not leaves(self.surfaces[piece], self.surfaces[other], self.at[other] - self.at[piece], out):
                self.blocked[piece, step] = other
                return False
        return True

    def _in_the_way(self, piece: int, out: Way) -> list[int]:
        """Pieces still there whose outline box this one's ever meets on its way."""
        low, high = self.boxes[:, :3] - self.boxes[piece, 3:], self.boxes[:, 3:] - self.boxes[piece, :3]
        moving = out.along != 0
        with np.errstate(divide="ignore", invalid="ignore"):
            ends = np.sort(np.stack([low, high]) / out.along, axis=0)
        first = np.max(ends[0][:, moving], axis=1, initial=0.0)
        last = np.min(ends[1][:, moving], axis=1)
        aside = ((low < 0) & (high > 0))[:, ~moving].all(axis=1)
        meet = (first < last) & aside & self.here
        meet[piece] = False
        return [int(other) for other in np.flatnonzero(meet)]


def _stuck(greens: tuple[Green, ...], pieces: list[Piece], lift: str) -> str:
    first = pieces[0]
    return (
        f"{len(pieces)} pieces cannot leave a box one by one in straight lines ({lift!r}), among them "
        f"{greens[first.part].part.request.name!r} number {first.number}; do not "
        f"print it, and report this order"
    )
