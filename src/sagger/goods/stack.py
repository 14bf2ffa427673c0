"""The layers of one box as a recipe, and what was counted when they were drawn."""

from __future__ import annotations

import numpy as np
from numpy import ndarray

from sagger.goods.good import good, holds
from sagger.goods.layout import Layout


@good
class Treatment:
    """What the printed binder does, and what is done about it, for one part."""

    # how far binder creeps beyond an outline, and soaks below a layer
    bleed_mm: float = holds("outlines lie inside by this", "mm", shown="um", default=0.0)
    depth_mm: float = holds("undersides lie higher by this, in whole layers", "mm", shown="um", default=0.0)
    skin_mm: float | None = holds("thickness of the skin; None = no core", "mm", default=None)
    skin: float = holds("of the saturation", "share", default=1.0)  # of the largest drop on every place
    core: float = holds("of the saturation", "share", default=1.0)


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
class DropRaster:
    """What is known of a stack before anything is nested."""

    pitch_mm: tuple[float, float]  # of drops along x and y
    layer_mm: float
    jitter: bool  # sampling phase moved from layer to layer


@good
class Stack:
    """Layer k (from 0) lies between k and k+1 layer heights and is cut at its middle; drawn when asked."""

    layout: Layout
    pitch_mm: tuple[float, float] = holds("spacing of drops along x and y", "mm", shown="um")
    layer_mm: float = holds("height of a layer", "mm", shown="um")
    count: int = holds("with those of the powder that covers the pieces")
    columns: int = holds("drops along x")
    rows: int = holds("drops along y")  # row 0 lies at y = 0
    jitter: bool = holds("sampling phase moved from layer to layer")
    style: Style = Style()
    missed: tuple[int, ...] = holds(  # their drops go to the rows beside
        "rows that no living nozzle comes to, from 0 at low y", default=()
    )


@good
class DropClass:
    """Places of the drop lattice that want one saturation, in all layers."""

    share: float = holds("of the drops that full saturation sets", "share")
    places: int = holds("of the lattice")
    drops: int | None = holds("as drawn; None for grey levels, which `drop_table` counts")


@good
class Tally:
    """What drawing every layer of a stack found."""

    levels: ndarray  # int64 (count, 2**bits - 1): drops of each size in each layer, smallest first
    classes: tuple[DropClass, ...]  # of all layers, highest saturation first
    section_mm2: ndarray  # float64 (count,): exact area of the cut, before drops
    leaks: int = holds("rows left open by a broken mesh")  # and closed at zero width
    bridges: int = holds("gaps in outlines that were joined")
    longest_mm: float = holds("longest of these", "mm")
    # grey as their volume's largest drops
    lost: int = holds("of rows without a nozzle, that found no place beside")
    digest: str = holds("of all layers as drawn, in order")
    rows: ndarray | None = (
        None  # int32 (count, 2): lowest and highest row with drops, -1 where there are none
    )

    @property
    def drops(self) -> ndarray:
        """Drops of any size in each layer, int64 (count,)."""
        return np.asarray(self.levels.sum(axis=1))
