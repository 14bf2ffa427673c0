"""Rectangles laid in rows on trays. Lengths in any one unit."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import NamedTuple

HAIR = 1e-9


class RowSize(NamedTuple):
    x: float
    y: float


class Wanted(NamedTuple):
    """Pieces of one part to be laid."""

    size: RowSize
    mass: float
    number: int


def grid(tray: tuple[float, float], edge: float, piece: tuple[float, float], gap: float) -> tuple[int, int]:
    """Pieces along x and y of a rectangular grid on a tray; the better of both quarter turns.

    Parameters
    ----------
    tray, piece : tuple of 2 float
        Sizes, all in one unit.
    edge, gap : float
        Left free along the rim, and between pieces.

    Source
    ------
    Counting: n pieces and n - 1 gaps must fit between the rims.
    """
    room = RowSize(tray[0] - 2 * edge, tray[1] - 2 * edge)
    return max(counts(room, RowSize(*piece), gap), counts(room, RowSize(*piece[::-1]), gap), key=math.prod)


def counts(room: RowSize, piece: RowSize, gap: float) -> tuple[int, int]:
    """Pieces along x and y that fit between the rims without being turned."""
    along, across = (
        max(math.floor((side + gap) / (one + gap) + HAIR), 0) for side, one in zip(room, piece, strict=True)
    )
    return along, across


class _Row:
    """A row being filled: `used` of its length, pieces no deeper than `deep`."""

    def __init__(self, deep: float):
        self.deep, self.used = deep, 0.0


class _Tray:
    """A tray being filled."""

    def __init__(self) -> None:
        self.rows: list[_Row] = []
        self.pieces: dict[int, int] = {}
        self.deep = self.mass = 0.0


def on_trays(
    wanted: Mapping[int, Wanted], room: RowSize, gap: float, most: float
) -> list[tuple[tuple[int, int], ...]]:
    """Part and number of its pieces, tray by tray.

    Deepest parts first, of equal ones as they stand in `wanted`; each piece into the first row it fits, else
    a new row, else a new tray; for one part this is the grid.

    Parameters
    ----------
    wanted : mapping of int to Wanted
        By part; each must fit the room and the mass.
    room : Size
        Between the rims.
    gap : float
        Between pieces.
    most : float
        Mass a tray may carry.
    """
    trays: list[_Tray] = []
    for part in sorted(wanted, key=lambda each: -wanted[each].size.y):
        piece, left = wanted[part], wanted[part].number
        for tray in trays:
            left -= _laid(tray, part, piece._replace(number=left), room, gap, most)
        while left:
            trays.append(_Tray())
            left -= _laid(trays[-1], part, piece._replace(number=left), room, gap, most)
    return [tuple(sorted(tray.pieces.items())) for tray in trays]


def _laid(tray: _Tray, part: int, piece: Wanted, room: RowSize, gap: float, most: float) -> int:
    """Lay as many of the pieces as the tray takes; how many those are."""
    bearable = piece.number
    if piece.mass > 0 and math.isfinite(most):
        bearable = min(bearable, math.floor((most - tray.mass) / piece.mass + HAIR))
    laid = 0
    while laid < bearable:
        row = next((each for each in tray.rows if _free(each, piece.size, room, gap)), None)
        if row is None:
            if tray.deep + piece.size.y > room.y + HAIR:
                break
            row = _Row(piece.size.y)
            tray.rows.append(row)
            tray.deep += piece.size.y + gap
        number = min(_free(row, piece.size, room, gap), bearable - laid)
        row.used += number * (piece.size.x + gap)
        laid += number
    if laid:
        tray.pieces[part] = tray.pieces.get(part, 0) + laid
        tray.mass += laid * piece.mass
    return laid


def _free(row: _Row, size: RowSize, room: RowSize, gap: float) -> int:
    """Pieces of this size that a row still takes."""
    if size.y > row.deep + HAIR:
        return 0
    return max(math.floor((room.x - row.used + gap) / (size.x + gap) + HAIR), 0)
