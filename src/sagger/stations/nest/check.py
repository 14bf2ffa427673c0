"""An exact look at a finished layout that knows nothing of how it was found."""

from __future__ import annotations

import numpy as np

from sagger.errors import StopError
from sagger.geometry.pile.judge.clearance import ClosedSurface, apart, surface
from sagger.goods.green import Green
from sagger.goods.layout import Piece
from sagger.stations.nest.room import NestRoom
from sagger.tick import Tick, silent

_ROUNDING = 1e-6  # [mm]: columns keep the gap to within 1e-7 mm, the sums here to better than that


def measure(
    greens: tuple[Green, ...], pieces: tuple[Piece, ...], room: NestRoom, *, tick: Tick = silent
) -> tuple[float, float]:
    """Smallest distance between two pieces and to the box [mm], from the meshes at their places.

    Returns
    -------
    float, float
        Between any two pieces (inf for a single one), and to walls, floor or top.

    Raises
    ------
    StopError
        If a distance is less than was asked: the layout must not be printed.
    """
    trees, at = surfaces(greens, pieces)
    boxes = np.array([one.box for one in trees]) + np.tile(at, 2)
    walls = _walls(boxes, room)
    least, pair = np.inf, (0, 0)
    within = 2.0 * room.gap + 2.0
    while least > within / 4 and within < 4.0 * sum(room.box):  # farther pairs cannot be the closest
        for a, b, near in tick.over(_pairs(boxes, within), "measuring gaps"):
            if near < least:
                most = min(least, within)
                gap = apart(trees[a], trees[b], at[b] - at[a], most)
                least, pair = (gap, (a, b)) if gap < most else (least, pair)
        within *= 4.0
    if least < room.gap - _ROUNDING:
        raise StopError(_broken(greens, pieces, pair, least, room.gap))
    return least, walls


def least_gap(trees: list[ClosedSurface], at: np.ndarray, within: float) -> float:
    """Smallest distance between surfaces at places `at`, float64 (n, 3), or `within` if none is nearer [mm].

    Distances that fall short of `within` by no more than rounding count as `within`.
    """
    boxes = np.array([one.box for one in trees]) + np.tile(at, 2)
    least = within
    for a, b, near in _pairs(boxes, within):
        if near < least:
            least = min(least, apart(trees[a], trees[b], at[b] - at[a], least))
    return within if least >= within - _ROUNDING / 2 else least


def _shape(piece: Piece) -> tuple[int, bytes]:
    return piece.part, piece.placement[:3, :3].tobytes()


def surfaces(greens: tuple[Green, ...], pieces: tuple[Piece, ...]) -> tuple[list[ClosedSurface], np.ndarray]:
    """Surface of each piece as it is turned, and where its origin lies, float64 (n, 3) [mm]."""
    trees: dict[tuple[int, bytes], ClosedSurface] = {}
    for piece in pieces:
        if _shape(piece) not in trees:
            shape = greens[piece.part].shape
            at = shape.vertices @ piece.placement[:3, :3].T
            trees[_shape(piece)] = surface(at[shape.triangles])
    return [trees[_shape(piece)] for piece in pieces], np.array([piece.placement[:3, 3] for piece in pieces])


def _pairs(boxes: np.ndarray, within: float) -> list[tuple[int, int, float]]:
    """Pairs of pieces whose bounding boxes are closer than `within`, and how close, nearest first."""
    pairs: list[tuple[int, int, float]] = []
    for a in range(len(boxes) - 1):
        rest = boxes[a + 1 :]
        off = np.maximum(0, np.maximum(rest[:, :3] - boxes[a, 3:], boxes[a, :3] - rest[:, 3:]))
        near = np.sqrt((off**2).sum(axis=1))
        pairs += [(a, a + 1 + int(b), float(near[b])) for b in np.flatnonzero(near < within)]
    return sorted(pairs, key=lambda pair: (pair[2], pair[0], pair[1]))


def _walls(boxes: np.ndarray, room: NestRoom) -> float:
    low, high = boxes[:, :3].min(axis=0), np.array(room.box) - boxes[:, 3:].max(axis=0)
    sides, floor, top = min(*low[:2], *high[:2]), low[2] / room.stretch, high[2] / room.stretch
    asked = room.floor / room.stretch, room.top / room.stretch
    if sides < room.wall - _ROUNDING or floor < asked[0] - _ROUNDING or top < asked[1] - _ROUNDING:
        raise StopError(
            f"a layout came within {sides:.4f} mm of a wall ({room.wall:g} mm asked), {floor:.4f} mm of the "
            f"floor ({asked[0]:g} mm asked) or {top:.4f} mm of the top ({asked[1]:g} mm asked); do not print "
            f"it, and report this order"
        )
    return float(min(sides, floor, top))


def _broken(
    greens: tuple[Green, ...], pieces: tuple[Piece, ...], pair: tuple[int, int], least: float, gap: float
) -> str:
    names = [f"{greens[pieces[k].part].part.request.name!r} number {pieces[k].number}" for k in pair]
    return (
        f"a layout puts {names[0]} and {names[1]} {least:.4f} mm apart, {gap:g} mm were asked; do not "
        f"print it, and report this order"
    )
