"""The price of a job by parts and pieces, and what can be promised for it."""

from __future__ import annotations

from nicegui import ui

from sagger.web import widgets
from sagger.web.base_page import page
from sagger.web.pages.programmes import planned
from sagger.web.rows import price as rows


def register() -> None:
    ui.page("/job/{number}/price")(_price)


def _price(number: int) -> None:
    with page("Price", wide=True, legend=True):
        plan = planned(number)
        if plan is not None:
            widgets.html(rows.page(plan))
