"""Control charts of what was measured, and how well it keeps to its tolerance."""

from __future__ import annotations

import asyncio

from markupsafe import Markup
from nicegui import ui
from starlette.requests import Request

from sagger.desk.measuring import judging
from sagger.errors import InputError, SaggerError
from sagger.goods.judged import Control, Judged, Size
from sagger.web import events, widgets
from sagger.web.base_page import page
from sagger.web.rows import charts as rows
from sagger.web.rows.charts import Known

PATIENCE_S = 60.0  # the first chart after a start waits for run lengths to be worked out
TOLERANCE = "tolerance (±, of finished sizes: 0.2 mm, 0.5 % or ISO 2768-m; empty = none)"


def register() -> None:
    ui.page("/charts", response_timeout=PATIENCE_S)(_page)


async def _page(request: Request) -> None:
    words = {name: request.query_params.get(name, "") for name in (*rows.KEYS, "tolerance", "box")}
    tolerance, box = words["tolerance"], words["box"]
    with page("Charts of a size", wide=True):
        widgets.link("/readings", "Lots and readings")
        known = await asyncio.to_thread(judging.sizes, box=box)
        if not known and not box:
            widgets.html(rows.NO_READINGS)
            return
        try:
            size = rows.size_of(words)
            _choose(known, size, tolerance, box)
            if size is not None:
                await _answer(size, tolerance, box)
        except SaggerError as error:
            widgets.refuse(error)
        widgets.html(rows.measured(known, tolerance, box))


def _choose(known: Known, size: Size | None, tolerance: str, box: str) -> None:
    options = rows.options(known, size)
    chosen = rows.address(size) if size else next(iter(options), None)
    with ui.element("div").classes("fields"):
        quantity = widgets.choice(options, chosen, "what was measured").classes("broad")
        limit = widgets.text_field(TOLERANCE, tolerance)
        only = widgets.text_field("only this printed box (empty = all)", box)

    def show(sent: object = None) -> None:
        ui.navigate.to(f"/charts?{quantity.value}&{rows.more(limit.value, only.value)}")

    for field in (limit, only):
        events.on(field, "keydown.enter", show, may="look")
    with ui.element("div").classes("acts"):
        widgets.button("Show the charts", show, may="look", solid=True)


async def _answer(size: Size, tolerance: str, box: str) -> None:
    """Charts, with a tolerance what keeps to it, and the readings; or a sentence on what is missing."""
    judged = None
    if tolerance and size.finished:
        judged = await asyncio.to_thread(judging.one, size, tolerance, box=box)
    elif tolerance:
        widgets.html(rows.NO_TOLERANCE)
    charts = None
    try:
        charts = await asyncio.to_thread(judging.charted, size, box=box)
        _charted(size, charts, judged)
    except InputError as error:
        widgets.html(Markup("<h2>No chart yet</h2><p>{}.</p>").format(error.what))
    of_size = await asyncio.to_thread(judging.of_size, size, box=box)
    if of_size:
        widgets.html(rows.readings(of_size, charts, judged))


def _charted(size: Size, charts: Control, judged: Judged | None) -> None:
    able = next(iter(judged.characteristics), None) if judged else None
    with ui.element("div").classes("charted"):
        widgets.html(rows.picture(size, charts, able.half_mm if able else None))
        with ui.element("aside"):
            widgets.html(rows.under_control(charts))
            if able and judged:
                widgets.html(rows.against_tolerance(able, judged.compared))
    widgets.html(rows.limits(charts, able))
