"""Pieces of a finished filling brought lower by moves that look at the whole box: for tens of pieces."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.geometry.pile.judge.clearance import surface
from sagger.geometry.pile.through.crowd import Turns
from sagger.geometry.pile.through.tables import Lattice
from sagger.goods.finding import Against, Finding, ok
from sagger.goods.green import Green
from sagger.stations.nest.check import least_gap
from sagger.stations.nest.emptying import directions, emptied
from sagger.stations.nest.forms import printed
from sagger.stations.nest.held import HeldPieces
from sagger.stations.nest.laid import FilledBox, LaidPiece
from sagger.stations.nest.pressing.lattice import lattice
from sagger.stations.nest.pressing.race import AcceptRule, Placement, WholeBox, effort, raced
from sagger.stations.nest.room import NestRoom
from sagger.tick import Tick, silent

_MOST_BYTES = 120e6  # of tables of the first lattice
_MOST_PIECES = 150  # more are pressed in columns, see improve
_MANY_PIECES, _MANY_POSES = 60, 40  # beyond both, one lattice with fine heights and windows of it
_MANY_BYTES = 700e6  # of its tables
_WORK_A_PIECE = 150e6  # table places that are usual
_WORK_A_ROUND = 1e9  # and for each round beyond: about as long as a round of the other search


class PressWish(NamedTuple):
    """What pieces may do, and how long is looked."""

    poses: tuple[tuple[int, int], ...]  # part and orientation of each that pieces may take
    lift: str
    more: int  # rounds beyond the usual
    seed: int


class _Lying(NamedTuple):
    """A box in numbers: what is held comes first."""

    poses: tuple[tuple[int, int], ...]  # those that pieces may take, then one of each held piece
    solids: list[ndarray]  # triangles of each pose, float64 (m, 3, 3), lower corner at the origin [mm]
    held: int
    begun: Placement


def suits(count: int, room: NestRoom, held: HeldPieces) -> bool:
    """Whether so many pieces are brought lower by this search.

    It knows no zones and no wish for places.
    """
    return 1 < count <= _MOST_PIECES and not held.zones and room.wish is None


def lowered(
    greens: tuple[Green, ...], room: NestRoom, box: FilledBox, wanted: PressWish, *, tick: Tick = silent
) -> FilledBox:
    """The same pieces in a lower box if one is found, in any order; otherwise as they were.

    Parameters
    ----------
    box : FilledBox
        A nest that keeps gap, walls and the rule for emptying.
    """
    moving = [piece for piece in box.pieces if not piece.held]
    if not moving:
        return box
    solids = [_solid(greens[part], turn) for part, turn in wanted.poses]
    around = len(moving) > _MANY_PIECES and len(solids) > _MANY_POSES
    grid = _lattice(solids, wanted.poses, moving, room)
    lying = _in_numbers(greens, box, wanted.poses, solids, grid)
    rule = _rule(lying.solids, room, wanted.lift)
    turns = _turns(lying.poses, lying.begun.pose, lying.held)
    job = WholeBox(lying.solids, turns, room.size, room.gap, wanted.lift == "up", *rule, around)
    plan = effort(len(moving), _WORK_A_PIECE * len(moving) + _WORK_A_ROUND * wanted.more, around=around)
    reached = raced(job, lying.begun, grid, plan, wanted.seed, tick)
    note = _noticed(len(box.pieces), lying.begun.top, reached.top, room)
    if reached is lying.begun:
        return box._replace(notes=(*box.notes, note))
    laid = [
        LaidPiece(lying.poses[number][0], lying.poses[number][1], (float(x), float(y), float(z)))
        for number, (x, y, z) in zip(reached.pose.tolist(), reached.low, strict=True)
    ]
    still = [piece for piece in box.pieces if piece.held]
    return FilledBox((*still, *laid[len(still) :]), box.rest, (*box.notes, note))


def _noticed(count: int, before: float, after: float, room: NestRoom) -> Finding:
    """By which search the box was brought lower."""
    heights = [(room.floor + top) / room.stretch for top in (before, after)]
    text = (
        f"{count} pieces were moved over the whole box, which is done up to {_MOST_PIECES} pieces: "
        f"{heights[1]:.1f} mm high, {heights[0]:.1f} mm before."
    )
    return ok("nest search", text, Against(heights[1], heights[0], "mm", "letting down and pressing"))


def _in_numbers(
    greens: tuple[Green, ...], box: FilledBox, poses: tuple[tuple[int, int], ...], solids: list[ndarray],
    grid: Lattice,
) -> _Lying:  # fmt: skip
    """Held pieces are lengthened downwards to the lattice, each as a pose of its own."""
    still = [piece for piece in box.pieces if piece.held]
    moving = [piece for piece in box.pieces if not piece.held]
    steps = np.array([grid.step, grid.step, grid.rise])
    all_poses, all_solids = list(poses), list(solids)
    for piece in still:
        all_poses.append((piece.part, piece.turn))
        all_solids.append(_solid(greens[piece.part], piece.turn) + np.array(piece.low) % steps)
    low = np.array([piece.low for piece in (*still, *moving)])
    low[: len(still)] -= low[: len(still)] % steps
    first = {pose: number for number, pose in reversed(list(enumerate(poses)))}
    pose = [len(poses) + number for number in range(len(still))]
    pose += [first[piece.part, piece.turn] for piece in moving]
    tops = low[:, 2] + [all_solids[number][:, :, 2].max() for number in pose]
    begun = Placement(np.array(pose), low, float(tops.max()))
    return _Lying(tuple(all_poses), all_solids, len(still), begun)


def _solid(green: Green, turn: int) -> ndarray:
    """Triangles of a part as it is printed, lower corner at the origin, float64 (m, 3, 3) [mm]."""
    at = printed(green, turn)
    return np.ascontiguousarray((at - at.min(axis=0))[green.shape.triangles])


def _lattice(
    solids: list[ndarray], poses: tuple[tuple[int, int], ...], moving: list[LaidPiece], room: NestRoom
) -> Lattice:
    extents = np.array([one.max(axis=(0, 1)) for one in solids])
    pieces = np.bincount([piece.part for piece in moving], minlength=max(part for part, _ in poses) + 1)
    turns = np.bincount([part for part, _ in poses], minlength=len(pieces))
    counts = np.array([pieces[part] / turns[part] for part, _ in poses])
    many = len(moving) > _MANY_PIECES and len(solids) > _MANY_POSES
    return lattice(extents, counts, room.size[:2], room.gap, _MANY_BYTES if many else _MOST_BYTES, fine=many)


def _turns(poses: tuple[tuple[int, int], ...], pose: ndarray, stills: int) -> Turns:
    """Each piece may take every pose of its part; what is held keeps its own."""
    free = np.arange(len(pose)) >= stills
    parts = sorted({part for part, _ in poses})
    mine = [[n for n, (of, _) in enumerate(poses[: len(poses) - stills]) if of == part] for part in parts]
    mine += [[number] for number in range(len(poses) - stills, len(poses))]
    kind = [len(parts) + n if n < stills else parts.index(poses[pose[n]][0]) for n in range(len(pose))]
    first = np.cumsum([0, *(len(some) for some in mine)])
    return Turns(np.array(kind), first, np.concatenate(mine).astype(np.int64), free)


def _rule(solids: list[ndarray], room: NestRoom, lift: str) -> tuple[AcceptRule, AcceptRule]:
    """Whether a layout can be emptied as asked, and whether it keeps the gap: both on the exact shapes."""
    seen = [surface(one) for one in solids]
    to_scale = np.array([1.0, 1.0, 1.0 / room.stretch])
    real = seen if room.stretch == 1.0 else [surface(one * to_scale) for one in solids]
    ways = directions(lift)

    def leaves(pose: ndarray, low: ndarray) -> bool:
        surfaces = [real[number] for number in pose]
        tops = low[:, 2] * to_scale[2] + np.array([one.box[5] for one in surfaces])
        order = np.argsort(-tops, kind="stable").tolist()
        return lift == "none" or not emptied(surfaces, low * to_scale, order, ways).stuck

    def apart(pose: ndarray, low: ndarray) -> bool:
        return room.gap == 0 or least_gap([seen[number] for number in pose], low, room.gap) >= room.gap

    return leaves, apart
