"""What a finished box is like: how low it could have been, how it fills up, how its pieces stand."""

from __future__ import annotations

from collections import Counter

import numpy as np
from numpy import ndarray

from sagger.geometry.pile.space.areas import section_areas
from sagger.geometry.pile.space.carried import carried
from sagger.goods.green import Green
from sagger.goods.layout import Piece, Pose
from sagger.stations.nest.forms import printed
from sagger.stations.nest.room import NestRoom
from sagger.stations.nest.search import volume

_SLABS = 20  # of a box, bottom to top, whose filling is told
_LEVEL = 0.999  # a face this flat has no steps


def bound(greens: tuple[Green, ...], pieces: tuple[Piece, ...], room: NestRoom) -> float:
    """Height that no nest of these pieces can undercut, in the room's own (stretched) millimetres.

    Source
    ------
    Pieces grown by half the gap do not overlap, and lie in the room grown by as much. By the Brunn-Minkowski
    inequality a body of volume V grown by r has at least the volume (V^(1/3) + (4 pi / 3)^(1/3) r)^3.
    """
    radius = room.gap / 2
    volumes = np.array([volume(greens[piece.part], piece.turn) for piece in pieces])
    grown = (np.cbrt(volumes) + np.cbrt(4 * np.pi / 3) * radius) ** 3
    floor = (room.size[0] + room.gap) * (room.size[1] + room.gap)
    heights = {part: _lowest(greens[part]) for part in {piece.part for piece in pieces}}
    return room.floor + max(float(grown.sum()) / floor - room.gap, *heights.values())


def _lowest(green: Green) -> float:
    return min(float(np.ptp(printed(green, turn)[:, 2])) for turn in range(len(green.maps)))


def profile(greens: tuple[Green, ...], pieces: tuple[Piece, ...], box: ndarray, layer_mm: float) -> ndarray:
    """Share of the box area that is printed, at the middle of slabs of about `layer_mm`, float64 (n,) [-].

    Parameters
    ----------
    box : ndarray
        float64 (3,): its sides along x and y, and the height up to which to look [mm].
    """
    heights = (np.arange(max(1, round(box[2] / layer_mm))) + 0.5) * layer_mm
    total = np.zeros(len(heights))
    known: dict[tuple[int, int], tuple[ndarray, ndarray]] = {}
    for piece in pieces:
        key = (piece.part, piece.turn)
        if key not in known:
            at = greens[piece.part].shape.vertices @ piece.placement[:3, :3].T
            at = at - at.min(axis=0)
            levels = np.arange(-layer_mm / 4, at[:, 2].max() + layer_mm / 2, layer_mm / 4)
            known[key] = levels, section_areas(at, greens[piece.part].shape.triangles, levels)
        levels, areas = known[key]
        foot = float(
            (greens[piece.part].shape.vertices @ piece.placement[2, :3]).min() + piece.placement[2, 3]
        )
        total += np.interp(heights - foot, levels, areas, left=0.0, right=0.0)
    return np.asarray(total / (box[0] * box[1]))


def filling(shares: ndarray) -> ndarray:
    """The profile in twenty equal slabs, bottom to top, float64 (20,)."""
    return np.array([part.mean() if len(part) else 0.0 for part in np.array_split(shares, _SLABS)])


def poses(greens: tuple[Green, ...], pieces: tuple[Piece, ...]) -> tuple[Pose, ...]:
    """Each orientation that was taken, with how many pieces stand so."""
    count = Counter((piece.part, piece.turn) for piece in pieces)
    return tuple(
        Pose(
            part=part,
            turn=turn,
            pieces=number,
            height_mm=float(np.ptp(printed(greens[part], turn)[:, 2])),
            steps=steps(greens[part], turn),
            carried=powder_out(greens[part], turn),
            sag_mm=None if (sag := greens[part].part.sag_mm) is None else float(sag[turn]),
            chance=None if (chances := greens[part].chances) is None else float(chances[turn]),
        )
        for (part, turn), number in sorted(count.items())
    )


def powder_out(green: Green, turn: int) -> float:
    """Loose powder that one piece carries along when it is lifted out, over its own volume [-]."""
    return carried(printed(green, turn)[green.shape.triangles]) / volume(green, turn)


def steps(green: Green, turn: int) -> float:
    """Mean height of the steps that layers leave on the surface, in layer heights; level faces have none.

    Source: cusp height = layer height x |cos| of the face's angle to the build direction (geometry).
    """
    at = printed(green, turn)[green.shape.triangles]
    normals = np.cross(at[:, 1] - at[:, 0], at[:, 2] - at[:, 0])
    areas = np.linalg.norm(normals, axis=1)
    rise = np.abs(normals[:, 2]) / np.maximum(areas, 1e-300)
    return float(areas @ np.where(rise < _LEVEL, rise, 0.0) / areas.sum())
