"""Changing a choice: a new version of the order, planned beside the one before."""

from __future__ import annotations

import asyncio

from markupsafe import Markup
from nicegui import ui

from sagger.desk.planning import drafts, history, runs
from sagger.errors import InputError, SaggerError
from sagger.goods.plain import Table, rows, table, text
from sagger.web import coupon_fields, order_form, session, widgets
from sagger.web.base_page import page
from sagger.web.order_form import Fields
from sagger.web.rows import order_fields
from sagger.web.rows.order_fields import PartKey

ELSEWHERE = InputError(
    "this job plans an order file that lies elsewhere",
    remedy="Change the file, or bring it here as a new order.",
)
KEPT = "<p>What is kept here becomes version {}; the one before stays.</p>"


def register() -> None:
    ui.page("/job/{number}/change")(_page)


def _page(number: int) -> None:
    with page("Change something", wide=True):
        try:
            version = history.version(number)
            if version is None:
                raise ELSEWHERE
            tables = drafts.tables(version.id)
        except SaggerError as error:
            ui.label(str(error))
            return
        next_number = len(history.versions_of(version.thread)) + 1
        widgets.link(f"/job/{number}", "Back to the route")
        widgets.html(Markup(KEPT).format(next_number))
        _form(number, version.id, tables)


def _form(number: int, version: int, tables: Table) -> None:
    fields = _fields(tables)

    async def plan() -> None:
        try:
            person = session.require("plan").name
            parts = [PartKey(text(part, "file"), text(part, "body")) for part in rows(tables, "part")]
            changed = order_fields.tables(order_form.entries(fields), parts, tables)
            new = await asyncio.to_thread(drafts.change, version, changed, person)
            job = await asyncio.to_thread(runs.ask, new, person)
            ui.navigate.to(f"/compare?one={number}&other={job}")
        except InputError as error:
            order_form.point(fields, error)
        except SaggerError as error:
            widgets.refuse(error)

    with ui.element("div").classes("acts"):
        widgets.button("Plan this beside the other", plan, may="plan", solid=True)


def _fields(tables: Table) -> Fields:
    """What is changed most often first, the order's name last."""
    fields: Fields = {}
    for name in ("choices", "cards", "nesting"):
        widgets.html(f"<h2>{name.capitalize()}</h2>")
        order_form.table(fields, name, table(tables, name))
    for place, part in enumerate(rows(tables, "part"), 1):
        widgets.html(Markup("<h2>Part: {}</h2>").format(text(part, "name") or text(part, "file")))
        order_form.table(fields, "part", part, f"[[part]] {place}")
    widgets.html("<h2>Coupons</h2>")
    coupon_fields.editor(fields, rows(tables, "coupon"))
    widgets.html("<h2>Order</h2>")
    order_form.table(fields, "order", table(tables, "order"))
    return fields
