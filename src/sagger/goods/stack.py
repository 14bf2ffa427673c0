"""The layers of one box as a recipe, and what was counted when they were drawn."""

from __future__ import annotations

from numpy import ndarray

from sagger.goods.good import good
from sagger.goods.layout import Layout


@good
class Stack:
    """Layer k (from 0) lies between k and k+1 layer heights and is cut at its middle; drawn when asked."""

    layout: Layout
    pitch_mm: tuple[float, float]  # spacing of drops along x and y
    layer_mm: float
    count: int  # layers
    columns: int  # drops along x
    rows: int  # drops along y; row 0 lies at y = 0
    jitter: bool  # sampling phase moved from layer to layer


@good
class Tally:
    """What drawing every layer of a stack found."""

    drops: ndarray  # int64 (count,)
    section_mm2: ndarray  # float64 (count,): exact area of the cut, before drops
    leaks: int  # rows left open by a broken mesh and closed at zero width
    bridges: int  # gaps in outlines that were joined
    digest: str  # of all layers as drawn, in order
