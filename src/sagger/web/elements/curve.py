"""A heating programme as a chart whose points are dragged, and what it does in strips beneath."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import nicegui
from nicegui import ui

from sagger.views.charts import screen
from sagger.views.charts.screen import Heating
from sagger.web import events

MODULES = {"nicegui-echart": str(Path(nicegui.__file__).parent / "elements" / "echart" / "dist")}


class HeatingCurve(ui.element, component="curve.js", esm=MODULES):
    """A chart of the page toolkit's library, with a handle at each corner of the programme.

    Parameters
    ----------
    words : str
        Its name.
    heating : Heating
        What it shows first.
    fixed : bool
        Whether it is only looked at.
    on_moved : callable
        Called while a handle moves: with place (from 0; −1 = the set point), rate [K/min], target [°C] and
        hold [min] of its stretch.
    on_released : callable
        Called once it stands still.
    """

    def __init__(
        self,
        words: str,
        heating: Heating,
        *,
        fixed: bool = False,
        on_moved: Callable[[dict[str, float]], object] = lambda row: None,
        on_released: Callable[[], object] = lambda: None,
    ):
        super().__init__()
        self._props |= {"words": words, "fixed": fixed}
        events.on(self, "moved", on_moved, may="look")
        events.on(self, "released", lambda sent: on_released(), may="look")
        self.show(heating)

    def show(self, heating: Heating, *, busy: bool = False) -> None:
        """Show a programme; `busy` says that what it does is not yet worked out."""
        self._props |= {"option": screen.option(heating), "height": screen.height(heating), "busy": busy}
        rows, held = [row._asdict() for row in heating.stretches], heating.set_point
        self._props |= {"rows": rows, "held": held._asdict() if held else None}
        self._props |= {"start": heating.start, "most": heating.most}
        self.update()
