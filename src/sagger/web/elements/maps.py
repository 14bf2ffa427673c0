"""A part as it comes out of the furnace, before and after it was pre-deformed."""

from __future__ import annotations

from nicegui import ui

from sagger.goods.plain import Table
from sagger.views.pictures.palette import RAMP, SPREAD
from sagger.web.elements.bed import MODULES


class Maps(ui.element, component="maps.js", esm=MODULES):
    """Maps over a part's surface, two of the same quantity side by side.

    Parameters
    ----------
    url : str
        Address of the surface and the numbers at its vertices, see `views.deviation.numbers`.
    document : dict
        What is said of them, see `views.deviation.document`.
    """

    def __init__(self, url: str, document: Table):
        super().__init__()
        self._props |= {"url": url, "doc": document, "ramp": list(RAMP), "spread": list(SPREAD)}
