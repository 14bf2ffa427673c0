"""Where each piece lies in the box."""

from __future__ import annotations

import numpy as np
from numpy import ndarray

from sagger.goods.box import Box
from sagger.goods.finding import Finding
from sagger.goods.good import good, holds
from sagger.goods.green import Green
from sagger.goods.order import LIFTS


@good
class Piece:
    part: int = holds("index into `parts`")
    number: int = holds("which copy in the whole order, from 1")
    turn: int = holds("index of the orientation used; 0 = as filed")
    placement: ndarray  # float64 (4, 4): nominal part [mm] -> box [mm]; oversize factors included


@good
class Pose:
    """An orientation that was taken in a box."""

    part: int = holds("index into `parts`")
    turn: int = holds("index of the orientation; 0 = as filed")
    pieces: int = holds("that stand so")
    height_mm: float = holds("of the piece as it stands", "mm")
    steps: float = holds("mean height of the steps that layers leave on slopes, in layer heights")
    carried: float = holds(
        "loose powder that comes along when it is lifted, of the part's volume", "share", default=0.0
    )
    sag_mm: float | None = holds(
        "in the furnace, standing as it lies; None unless `prefer` is sag", "mm", default=None
    )
    chance: float | None = holds(
        "of a piece to be good, as foretold before nesting; None unless `prefer` is promise",
        "share",
        default=None,
    )


@good
class Departure:
    """How one piece leaves its box: in a straight line, past all that is still there."""

    part: int = holds("index into `parts`")
    number: int = holds("which copy in the whole order, from 1")
    way: tuple[int, int, int] = holds("steps along x, y and z of the box; 0, 0, 1 = straight up")


@good
class Layout:
    """One box. Origin at a lower corner: x along the spreading stroke, y across it, z up [mm]."""

    number: int = holds("which box of the job, from 1")
    box: Box
    greens: tuple[Green, ...]
    pieces: tuple[Piece, ...]
    gap_mm: float = holds("asked between pieces", "mm")
    # by exact distance; inf for a single piece
    least_gap_mm: float = holds("smallest found between two pieces; None for a single piece", "mm")
    wall_gap_mm: float = holds("smallest found to walls, floor and top", "mm")
    height_mm: float = holds("top of the highest piece above the platform", "mm")
    volume_mm3: float = holds("of all pieces, at green size", "mm3")
    density: float = holds("that volume over box area times height", "share")
    gap_z_mm: float | None = holds(
        "asked between pieces one above the other; None = as `gap_mm`", "mm", default=None
    )
    bound_mm: float = holds("no nest of these pieces can be lower", "mm", default=0.0)
    filling: ndarray = holds(  # float64 (n,)
        "printed share of the box area in equal slabs, lowest first",
        "share",
        default_factory=lambda: np.zeros(0),
    )
    printed_most: float = holds("printed share of the box area in the fullest layer", "share", default=0.0)
    poses: tuple[Pose, ...] = holds("orientations that were taken", default=())
    lift: str = holds("ways by which every piece can leave, as asked", one_of=LIFTS, default="up")
    # proven on the exact shapes
    departures: tuple[Departure, ...] = holds("how it is emptied, first piece out first", default=())
    findings: tuple[Finding, ...] = ()


@good
class Nest:
    layouts: tuple[Layout, ...]
