"""One part in space, with its findings where they are, and its faces to be chosen."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from nicegui import ui

from sagger.goods.good import good
from sagger.goods.plain import Table
from sagger.views.pictures.palette import web
from sagger.web import events
from sagger.web.elements.bed import MODULES


@good
class PartForm:
    """What a view of a part draws."""

    url: str  # address of its surface; MOST stands for the most triangles
    low: tuple[float, ...]
    high: tuple[float, ...]
    triangles: int
    rungs: tuple[int, ...]  # triangles of the coarser forms


class PartView(ui.element, component="part.js", esm=MODULES):
    """A part's surface, numbered marks on it, and faces that stand out. What is put into it stands beside it.

    Parameters
    ----------
    shown : PartForm
    findings : sequence of dict
        As `views.words.noticed.finding` tells them.
    number : int
        Which part of the order, for its colour.
    named : str
        Heading of the findings; "" shows none.
    """

    def __init__(self, shown: PartForm, findings: Sequence[Table], number: int, named: str = "Findings"):
        super().__init__()
        self._props |= {
            "form": shown.url,
            "rungs": list(shown.rungs),
            "triangles": shown.triangles,
            "tone": web(number),
            "low": list(shown.low),
            "high": list(shown.high),
            "findings": list(findings),
            "picks": False,
            "named": named,
        }

    def hear(self, picked: Callable[[int, bool], object], *, may: str) -> None:
        """Have faces chosen: `picked` gets a triangle (-1 = none) and whether it is the second face."""
        self._props["picks"] = True

        def heard(sent: object) -> object:
            triangle = sent.get("triangle") if isinstance(sent, dict) else None
            if not isinstance(triangle, int) or isinstance(triangle, bool) or not -1 <= triangle < 2**31:
                return None
            return picked(triangle, isinstance(sent, dict) and sent.get("second") is True)

        events.on(self, "picked", heard, may=may)

    def light(self, faces: Sequence[Sequence[int]]) -> None:
        """Make faces stand out, each as runs of triangles: first, how many, first, how many, …"""
        self.run_method("light", [list(runs) for runs in faces])
