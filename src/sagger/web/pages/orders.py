"""All orders: what needs a decision, what runs, what is done."""

from __future__ import annotations

import asyncio
from collections.abc import Hashable

from nicegui import ui

from sagger.desk.planning import overview
from sagger.views.words.overview import OrderLine
from sagger.web import widgets
from sagger.web.base_page import page
from sagger.web.rows import orders as rows
from sagger.web.rows.orders import ALL, GROUPS, SORTS, Sought

EVERY_S = 1.0


def register() -> None:
    ui.page("/")(_page)


def _page() -> None:
    with page("Orders", wide=True, legend=True):
        widgets.link("/new", "New order", "solid")
        OrderList().show()


class OrderList:
    """The list that a browser has before it, and what it is to show."""

    def __init__(self) -> None:
        self._lines: tuple[OrderLine, ...] = ()
        self._mark: Hashable = None
        self._page, self._before = 1, ""

    def show(self) -> None:
        """Fields, table, and a look every second whether anything is new."""
        with ui.element("div").classes("fields"):
            self._words = widgets.text_field("find (words of name, customer, reference, state)").classes(
                "broad"
            )
            self._group = widgets.choice({ALL: "all orders"} | GROUPS, ALL, "show")
            self._by = widgets.choice({name: by.label for name, by in SORTS.items()}, "change", "sorted")
        for field in (self._words, self._group, self._by):
            field.on_value_change(self._anew)
        self._shown = widgets.html("<p>reading the orders …</p>")
        with ui.element("div").classes("acts") as self._turning:
            widgets.button("Earlier page", lambda: self._turn(-1), may="look")
            widgets.button("Next page", lambda: self._turn(1), may="look")
        self._turning.set_visibility(False)
        ui.timer(EVERY_S, self._refresh)

    async def _refresh(self) -> None:
        mark = await asyncio.to_thread(overview.mark)
        if mark != self._mark:
            self._lines, self._mark = await asyncio.to_thread(overview.orders), mark
            self._draw()

    def _anew(self) -> None:
        self._page = 1
        self._draw()

    def _turn(self, way: int) -> None:
        self._page += way
        self._draw()

    def _draw(self) -> None:
        if self._mark is None:
            return  # nothing was read yet
        asked = Sought(widgets.stripped(self._words), str(self._group.value), str(self._by.value), 1)
        last = rows.pages(len(rows.sought(self._lines, asked)))
        self._page = min(max(1, self._page), last)
        self._turning.set_visibility(last > 1)
        content = str(rows.tables(self._lines, asked._replace(page=self._page)))
        if content != self._before:
            self._before = self._shown.content = content
