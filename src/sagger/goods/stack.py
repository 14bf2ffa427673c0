"""The layers of one box as a recipe, and what was counted when they were drawn."""

from __future__ import annotations

import numpy as np
from numpy import ndarray

from sagger.goods.good import good
from sagger.goods.layout import Layout


@good
class Treatment:
    """What the printed binder does, and what is done about it, for one part."""

    bleed_mm: float = 0.0  # how far binder creeps beyond an outline; outlines are drawn inside by this
    depth_mm: float = 0.0  # how far binder soaks below a layer; undersides are drawn higher by this
    skin_mm: float | None = None  # thickness of the skin all round, None = no core
    skin: float = 1.0  # saturation of the skin, of the largest drop on every place [-]
    core: float = 1.0  # of what lies deeper [-]


@good
class Patience:
    """How much mending of broken meshes is allowed before a layer is refused."""

    bridge_mm: float = 0.5  # longest gap in an outline
    open_share: float = 0.01  # of an outline's segment ends


@good
class Style:
    """How a stack is drawn."""

    treatments: tuple[Treatment, ...] = (Treatment(),)  # one per part of the layout, or one for all
    bits: int = 1  # per drop: 1, or 2 or 4 for levels from exact cover
    patience: Patience = Patience()


@good
class Stack:
    """Layer k (from 0) lies between k and k+1 layer heights and is cut at its middle; drawn when asked."""

    layout: Layout
    pitch_mm: tuple[float, float]  # spacing of drops along x and y
    layer_mm: float
    count: int  # layers, with those of the powder that covers the pieces
    columns: int  # drops along x
    rows: int  # drops along y; row 0 lies at y = 0
    jitter: bool  # sampling phase moved from layer to layer
    style: Style = Style()
    missed: tuple[int, ...] = ()  # rows that no living nozzle comes to; their drops go to the rows beside


@good
class DropClass:
    """Places of the drop lattice that want one saturation."""

    share: float  # of the drops that full saturation sets [-]
    places: int
    drops: int | None  # as drawn; None for grey levels, which are counted by level


@good
class Tally:
    """What drawing every layer of a stack found."""

    levels: ndarray  # int64 (count, 2**bits - 1): drops of each size in each layer, smallest first
    classes: tuple[DropClass, ...]  # of all layers, highest saturation first
    section_mm2: ndarray  # float64 (count,): exact area of the cut, before drops
    leaks: int  # rows left open by a broken mesh and closed at zero width
    bridges: int  # gaps in outlines that were joined
    longest_mm: float  # longest of these
    lost: (
        int  # drops of rows without a nozzle that found no place beside; grey as their volume's largest drops
    )
    digest: str  # of all layers as drawn, in order
    rows: ndarray | None = (
        None  # int32 (count, 2): lowest and highest row with drops, -1 where there are none
    )

    @property
    def drops(self) -> ndarray:
        """Drops of any size in each layer, int64 (count,)."""
        return np.asarray(self.levels.sum(axis=1))
