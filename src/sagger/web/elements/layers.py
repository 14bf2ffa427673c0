"""The layers of a box as drops."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from nicegui import ui

from sagger.goods.stack import Stack

MODULES = {"sagger-layer-view": str(Path(__file__).parent / "layer_view")}


class Layers(ui.element, component="layers.js", esm=MODULES):
    """Layers from the whole bed to single drops.

    Parameters
    ----------
    stack : Stack
        The recipe: lattice, layer height, how many.
    url : str
        Address of a square cut; CUT stands for layer, level, column and row.
    first : int
        Layer to begin with, from 1.
    place : sequence of float
        Middle of the view [mm], x and y, and page pixels a mm; empty = the whole layer.
    """

    def __init__(self, stack: Stack, url: str, first: int, place: Sequence[float]):
        super().__init__()
        self._props |= {"columns": stack.columns, "rows": stack.rows, "pitch": list(stack.pitch_mm)}
        self._props |= {"thickness": stack.layer_mm, "count": stack.count, "bits": stack.style.bits}
        self._props |= {"url": url, "first": first, "place": list(place)}
