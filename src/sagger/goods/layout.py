"""Where each piece lies in the box."""

from __future__ import annotations

from dataclasses import field

import numpy as np
from numpy import ndarray

from sagger.goods.box import Box
from sagger.goods.finding import Finding
from sagger.goods.good import good
from sagger.goods.green import Green


@good
class Piece:
    part: int  # index into the layout's greens
    number: int  # which copy of the part in the whole order, from 1
    turn: int  # index into the green's maps
    placement: ndarray  # float64 (4, 4): nominal part [mm] -> box [mm]; oversize factors included


@good
class Pose:
    """An orientation of a part as it lies in a box."""

    part: int
    turn: int  # index into the green's maps
    pieces: int
    height_mm: float
    steps: float  # mean height of the steps that layers leave on slopes, in layer heights [-]
    carried: float = 0.0  # loose powder that comes along when it is lifted, over the part's volume [-]
    sag_mm: float | None = None  # in the furnace, standing as it lies; None: not looked at


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
    gap_z_mm: float | None = None  # asked between pieces one above the other; None = as `gap_mm`
    bound_mm: float = 0.0  # no nest of these pieces can be lower
    filling: ndarray = field(
        default_factory=lambda: np.zeros(0)
    )  # float64 (n,): printed share of equal slabs
    printed_most: float = 0.0  # largest share of the box area printed in any layer [-]
    poses: tuple[Pose, ...] = ()  # orientations that were taken
    findings: tuple[Finding, ...] = ()


@good
class Nest:
    layouts: tuple[Layout, ...]
