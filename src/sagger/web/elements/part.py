"""One part in space, with its findings where they are."""

from __future__ import annotations

from collections.abc import Sequence

from nicegui import ui

from sagger.goods.plain import Table
from sagger.goods.shape import Shape
from sagger.views.pictures.palette import web
from sagger.web.elements.bed import MODULES


class PartView(ui.element, component="part.js", esm=MODULES):
    """A part's surface and numbered marks on it.

    Parameters
    ----------
    url : str
        Address of its surface; MOST stands for the most triangles.
    rungs : sequence of int
        Triangles of the coarser forms.
    shape : Shape
        The part, for its size.
    findings : sequence of dict
        As `views.words.noticed.finding` tells them.
    number : int
        Which part of the order, for its colour.
    """

    def __init__(self, url: str, rungs: Sequence[int], shape: Shape, findings: Sequence[Table], number: int):
        super().__init__()
        ends = {"low": shape.vertices.min(axis=0).tolist(), "high": shape.vertices.max(axis=0).tolist()}
        self._props |= {
            "form": url,
            "rungs": list(rungs),
            "triangles": len(shape.triangles),
            "tone": web(number),
        }
        self._props |= {**ends, "findings": list(findings)}
