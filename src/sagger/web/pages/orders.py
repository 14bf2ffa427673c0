"""All orders: what needs a decision, what runs, what is done."""

from __future__ import annotations

import asyncio

from nicegui import ui

from sagger.desk.planning import overview
from sagger.views.words.overview import OrderLine
from sagger.web import widgets
from sagger.web.base_page import page
from sagger.web.rows import orders as rows

EVERY_S = 1.0


def register() -> None:
    ui.page("/")(_page)


def _page() -> None:
    with page("Orders", wide=True, legend=True):
        widgets.link("/new", "New order", "solid")
        shown = widgets.html("<p>reading the orders …</p>")
        before: list[str] = []

        async def refresh() -> None:
            lines: tuple[OrderLine, ...] = await asyncio.to_thread(overview.orders)
            content = str(rows.tables(lines))
            if [content] != before:
                before[:] = [content]
                shown.content = content

        ui.timer(EVERY_S, refresh)
