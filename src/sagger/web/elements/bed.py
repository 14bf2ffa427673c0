"""A box with its pieces in space."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import nicegui
from nicegui import ui

from sagger.goods.good import good
from sagger.views.pictures.palette import RAMP, SPREAD

HERE = Path(__file__).parent
MODULES = {
    "nicegui-scene": str(Path(nicegui.__file__).parent / "elements" / "scene" / "dist"),
    "sagger-viewer": str(HERE / "viewer"),
}


@good
class BedUrls:
    """Where the browser finds what it draws."""

    pieces: str  # what is known of the pieces
    places: str  # where they lie
    part: str  # one part in full, PART stands for its number
    parts: str  # all parts coarser, MOST stands for the most triangles


class BedScene(ui.element, component="bed.js", esm=MODULES):
    """Pieces of a box: turned, cut, coloured, pointed at.

    Parameters
    ----------
    urls : BedUrls
        Where the browser finds what it draws.
    rungs : sequence of int
        Triangles of the coarser parts.
    chosen, way : str
        Label of the piece to begin with, and what to colour by; "" = none, by part.
    """

    def __init__(self, urls: BedUrls, rungs: Sequence[int], *, chosen: str, way: str):
        super().__init__()
        self._props |= {"pieces": urls.pieces, "places": urls.places, "form": urls.part, "forms": urls.parts}
        self._props |= {"rungs": list(rungs), "chosen": chosen, "way": way}
        self._props |= {"ramp": list(RAMP), "spread": list(SPREAD)}
