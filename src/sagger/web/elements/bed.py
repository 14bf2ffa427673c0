"""A box with its pieces in space."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import nicegui
from nicegui import ui

from sagger.views.palette import RAMP, SPREAD

HERE = Path(__file__).parent
MODULES = {
    "nicegui-scene": str(Path(nicegui.__file__).parent / "elements" / "scene" / "dist"),
    "sagger-eye": str(HERE / "eye"),
}


class Bed(ui.element, component="bed.js", esm=MODULES):
    """Pieces of a box: turned, cut, coloured, pointed at.

    Parameters
    ----------
    pieces, places : str
        Addresses of what is known of the pieces and of where they lie.
    form, forms : str
        Addresses of a whole part, PART stands for its number, and of all parts coarser, MOST for triangles.
    rungs : sequence of int
        Triangles of the coarser forms.
    chosen, way : str
        Label of the piece to begin with, and what to colour by; "" = none, by part.
    """

    def __init__(
        self, pieces: str, places: str, form: str, forms: str, rungs: Sequence[int], *, chosen: str, way: str
    ):
        super().__init__()
        self._props |= {
            "pieces": pieces,
            "places": places,
            "form": form,
            "forms": forms,
            "rungs": list(rungs),
        }
        self._props |= {"ramp": list(RAMP), "spread": list(SPREAD), "chosen": chosen, "way": way}
