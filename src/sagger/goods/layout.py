"""Where each piece lies in the box."""

from __future__ import annotations

from numpy import ndarray

from sagger.goods.box import Box
from sagger.goods.good import good
from sagger.goods.green import Green


@good
class Piece:
    part: int  # index into the layout's greens
    number: int  # which copy of the part in the whole order, from 1
    turn: int  # index into the green's maps
    placement: ndarray  # float64 (4, 4): nominal part [mm] -> box [mm]; oversize factors included


@good
class Layout:
    """One box. Origin at a lower corner: x along the spreading stroke, y across it, z up [mm]."""

    number: int  # which box of the job, from 1
    box: Box
    greens: tuple[Green, ...]
    pieces: tuple[Piece, ...]
    gap_mm: float  # asked between pieces
    least_gap_mm: float  # smallest found between two pieces by exact distance; inf for a single piece
    wall_gap_mm: float  # smallest found to walls, floor and top
    height_mm: float  # top of the highest piece above the platform
    volume_mm3: float  # of all pieces, at green size
    density: float  # volume / (box area x height) [-]


@good
class Nest:
    layouts: tuple[Layout, ...]
