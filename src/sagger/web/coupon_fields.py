"""Coupons of an order as rows of fields: which kind, where in the box, how high, which series."""

from __future__ import annotations

from functools import partial

from nicegui import ui

from sagger.goods.plain import Table
from sagger.web import order_form, widgets
from sagger.web.order_form import Fields
from sagger.web.rows.coupons import TABLE, added, as_entered, removed

NOTE = "Pieces made to be measured, at the same places of every box; parts are nested around them."


def editor(fields: Fields, rows: list[Table]) -> None:
    """Rows of fields, added to `fields`; more can be added and taken out.

    Parameters
    ----------
    fields : dict
        Filled here.
    rows : list of dict
        [[coupon]] tables of an order file.
    """
    widgets.html(f"<p>{NOTE}</p>")
    area = ui.element("div")

    def remove(place: int) -> None:
        build(removed(as_entered(order_form.entries(fields)), place))

    def add() -> None:
        build(added(as_entered(order_form.entries(fields))))

    def build(coupons: list[Table]) -> None:
        area.clear()
        for place in [name for name in fields if name.startswith(f"[[{TABLE}]]")]:
            del fields[place]
        with area:
            for number, row in enumerate(coupons, 1):
                with ui.element("div").classes("row").props(f'role="group" aria-label="coupon {number}"'):
                    order_form.table(fields, TABLE, row, f"[[{TABLE}]] {number}")
                    widgets.button(f"Take out coupon {number}", partial(remove, number), may="look")
            widgets.button("Add coupons", add, may="look")

    build(rows)
