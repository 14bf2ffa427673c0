"""Forms: each part in each of its allowed orientations, at printed size.

Oversize factors are in machine axes, so every orientation is a shape of its own.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from sagger.errors import StopError
from sagger.geometry.pile.lowering.columns import Columns, columns
from sagger.geometry.pile.lowering.nearness import filled, marks
from sagger.goods.green import Green
from sagger.stations.nest.room import NestRoom

_SLACK = 1e-6  # [mm] of rounding forgiven when a piece fills the room exactly


class Form(NamedTuple):
    kind: int  # index of the green
    turn: int  # index into its maps
    corner: np.ndarray  # float64 (3,): lower corner of the printed vertices before moving [mm]
    extent: np.ndarray  # float64 (3,) [mm]
    fields: Columns
    height: int  # [um], rounded up
    places: tuple[int, int]  # how many columns it can be moved along y and x
    mask: np.ndarray  # bool (z, y, x): coarse cells
    marks: np.ndarray  # int64 (n, 3): some of the mask's surface


def printed(green: Green, turn: int) -> np.ndarray:
    """Vertices of a part at printed size in one orientation, float64 (n, 3) [mm]."""
    return np.asarray(green.shape.vertices @ green.maps[turn].T)


def fitting(green: Green, room: NestRoom, title: str) -> list[int]:
    """Orientations, one of each shape, in which the part fits into the room.

    Raises
    ------
    StopError
        If there is none: names part, size, box, and by how much it is too big.
    """
    by_shape: dict[bytes, int] = {}
    least, size = np.inf, np.zeros(3)
    for turn in range(len(green.maps)):
        at = printed(green, turn)
        extent = np.ptp(at, axis=0)
        over = float(np.max(extent - room.size))
        if over <= _SLACK:
            by_shape.setdefault(_same(at - at.min(axis=0), green.shape.triangles), turn)
        elif over < least:
            least, size = over, extent
    if not by_shape:
        raise StopError(_too_big(green, room, title, least, size))
    return list(by_shape.values())


def _too_big(green: Green, room: NestRoom, title: str, over: float, size: np.ndarray) -> str:
    have = " x ".join(f"{length:.2f}" for length in size)
    free = " x ".join(f"{length:.2f}" for length in room.size)
    return (
        f"part {green.part.request.name!r} does not fit into box {title} in any of its {len(green.maps)} "
        f"allowed orientations: at printed size it is at best {have} mm, {free} mm are free inside the gaps, "
        f"so it is {over:.2f} mm too big; allow more orientations, take a larger box or split the part"
    )


def _same(at: np.ndarray, triangles: np.ndarray) -> bytes:
    """Key that two orientations share if they give the same shape, to a tenth of a micrometre."""
    tri = np.round(at * 1e4).astype(np.int64)[triangles]
    middle = np.sort(tri.sum(axis=1), axis=0)
    return middle.tobytes() + np.unique(tri.reshape(-1, 3), axis=0).tobytes()


def pitch(extents: np.ndarray, room: NestRoom, fine: float) -> float:
    """Side of a column [mm]: the gap or a whole share of it, so that flush faces lose nothing.

    `fine` columns should lie across a middling piece; no piece gets more than 160, no box more than 700.
    """
    wide = np.sort(extents[:, :2].ravel())
    want = max(float(np.median(wide)) / fine, float(wide[-1]) / 160, max(room.size[:2]) / 700)
    if 0 < want < 1.5 * room.gap:
        return room.gap / max(1, round(room.gap / want))
    return want


def form(green: Green, kind: int, turn: int, room: NestRoom, column: float, cell: float) -> Form:
    """One orientation of one part over columns of side `column` and coarse cells of side `cell` [mm]."""
    at = printed(green, turn)
    corner = at.min(axis=0)
    at = at - corner
    extent = at.max(axis=0)
    fields = columns(np.ascontiguousarray(at[green.shape.triangles]), column, room.gap)
    free = [int((room.size[axis] - extent[axis] + _SLACK) // column) + 1 for axis in (1, 0)]
    mask = filled(fields, column, cell)
    high = int(np.ceil(extent[2] * 1e3 - 1e-6))
    return Form(kind, turn, corner, extent, fields, high, (free[0], free[1]), mask, marks(mask, 96))
