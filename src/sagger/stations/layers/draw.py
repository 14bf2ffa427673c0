"""The recipe of a stack: pitch, layer height, how many layers, drops and rows."""

from __future__ import annotations

import dataclasses
import math

from sagger.errors import StopError
from sagger.goods.head import Head
from sagger.goods.layout import Layout
from sagger.goods.order import Choices
from sagger.goods.powder import Powder
from sagger.goods.stack import DropRaster, Stack
from sagger.stations.layers.passes import missed
from sagger.stations.layers.style import style

COARSE_DPI = 600.5  # at 600 dpi and below a face along the lattice would be off by more than a grain
_SLACK = 1e-9  # of a drop or a layer: a box of exactly 1000 drops holds 1000


def draw(layout: Layout, head: Head, powder: Powder, choices: Choices) -> Stack:
    """The layers of one box, as a recipe that is drawn when asked: all that decides where drops fall.

    Parameters
    ----------
    layout : Layout
        Where each piece lies; what a part's request says of bleed, depth, skin and core holds for it.
    head : Head
        Gives the spacing of drops along and across the pass, bits per drop, and rows without a nozzle.
    powder : Powder
        Gives the layer height unless `choices.layer_um` does.
    choices : Choices
        `layer_um` and `phase_jitter`, None leaves them to powder and head; bleed, depth, skin and core for
        parts that do not say; how much mending is allowed.

    Returns
    -------
    Stack
        With as many layers as have their middle below the top of the highest piece and the powder that the
        box card asks for above it, so that heights are off by half a layer at most and on average by nothing;
        no more than the box holds.

    Raises
    ------
    StopError
        If the pieces rise above the box, or a drop or layer is larger than the box.
    """
    drops = raster(head, powder, choices)
    pitch_mm, layer_mm = drops.pitch_mm, drops.layer_mm
    box_mm = tuple(
        length.value * 1e3 for length in (layout.box.length_x, layout.box.length_y, layout.box.length_z)
    )
    if layout.height_mm > box_mm[2]:
        text = f"the pieces rise to {layout.height_mm:.3f} mm, the box holds {box_mm[2]:.3f} mm"
        raise StopError(f"{text}; nest them again or use a higher box")
    columns, rows = (math.floor(box_mm[axis] / pitch_mm[axis] + _SLACK) for axis in (0, 1))
    if columns < 1 or rows < 1:
        raise StopError(f"no drop fits a box of {box_mm[0]:g} x {box_mm[1]:g} mm; check head and box cards")
    cover_mm = layout.box.floor_gap.value * 1e3 + choices.nesting.empty_above_mm
    top_mm = min(layout.height_mm + cover_mm, box_mm[2])
    stack = Stack(
        layout=layout,
        pitch_mm=pitch_mm,
        layer_mm=layer_mm,
        count=max(
            1, min(math.ceil(top_mm / layer_mm - 0.5 - _SLACK), math.floor(box_mm[2] / layer_mm + _SLACK))
        ),
        columns=columns,
        rows=rows,
        jitter=drops.jitter,
        style=style(layout, head, choices),
    )
    return dataclasses.replace(stack, missed=missed(stack, head))


def raster(head: Head, powder: Powder, choices: Choices) -> DropRaster:
    """Drops and layers as any stack of this job will have them."""
    pitch_mm, layer_mm = lattice(head, powder, choices)
    jitter = choices.phase_jitter
    if jitter is None:
        jitter = max(pitch_mm) >= 25.4 / COARSE_DPI
    return DropRaster(pitch_mm=pitch_mm, layer_mm=layer_mm, jitter=jitter)


def lattice(head: Head, powder: Powder, choices: Choices) -> tuple[tuple[float, float], float]:
    """Spacing of drops along x and y, and layer height [mm].

    Raises
    ------
    StopError
        If the layer height is not above 0.
    """
    pitch_mm = (1e3 / head.resolution_x.value, 1e3 / head.resolution_y.value)
    layer_mm = choices.layer_um / 1e3 if choices.layer_um is not None else powder.layer.value * 1e3
    if not layer_mm > 0:
        raise StopError(f"the layer height must be above 0, got {layer_mm * 1e3:g} um; check the choices")
    return pitch_mm, layer_mm
