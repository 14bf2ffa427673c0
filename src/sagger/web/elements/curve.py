"""A heating programme as a curve whose points are dragged, and what it does in strips beneath."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from nicegui import ui

from sagger.views.programme import Line, Strip


class Curve(ui.element, component="curve.js"):
    """The curve of a programme; it shows what `draw` was told last.

    Parameters
    ----------
    words : str
        Its name.
    start : float
        Temperature at the beginning [°C].
    most : float
        Temperature that is never gone beyond [°C].
    limit : str
        What it is that stands there, for its line.
    fixed : bool
        Whether it is only looked at.
    on_moved : callable
        Called while a point moves: with place (from 0; −1 = the set point), rate [K/min], target [°C] and
        hold [min] of its stretch.
    on_released : callable
        Called once it stands still.
    """

    def __init__(
        self,
        words: str,
        start: float,
        most: tuple[float, str],
        *,
        fixed: bool = False,
        on_moved: Callable[[dict[str, float]], Any] = lambda row: None,
        on_released: Callable[[], Any] = lambda: None,
    ):
        super().__init__()
        self._props |= {"words": words, "start": start, "most": most[0], "limit": most[1], "fixed": fixed}
        self._props |= {"rows": [], "held": None, "top": [], "strips": [], "busy": False}
        self.on("moved", lambda event: on_moved(event.args))
        self.on("released", lambda event: on_released())

    def rows(self, rows: Sequence[dict[str, Any]], held: dict[str, float] | None = None) -> None:
        """Show these stretches: rate [K/min], target [°C], hold [min], and a name over those of a kind.

        `held` is the set point that follows them, held as long as it takes.
        """
        self._props |= {"rows": list(rows), "held": held}
        self.update()

    def drawn(self, top: Sequence[Line], strips: Sequence[Strip]) -> None:
        """Show what the programme does."""
        self._props |= {"top": list(top), "strips": list(strips), "busy": False}
        self.update()

    def busy(self) -> None:
        """Show that what is drawn is not yet what is set."""
        self._props["busy"] = True
        self.update()
