"""Coupons of an order as rows of fields: which kind, where in the box, how high, which series."""

from __future__ import annotations

from functools import partial
from typing import Any

from nicegui import ui

from sagger.web import form, frame

NEW = {"kind": "steps", "places": "nine", "series": 1}
KEY = "coupon"


def editor(fields: form.Fields, rows: list[dict[str, Any]]) -> None:
    """Rows of fields, added to `fields`; more can be added and taken out.

    Parameters
    ----------
    fields : dict
        Filled here.
    rows : list of dict
        [[coupon]] tables of an order file.
    """
    frame.show(
        "<p>Pieces made to be measured, at the same places of every box; parts are nested around them.</p>"
    )
    area = ui.element("div")
    now = [dict(row) for row in rows]

    def take(place: int) -> None:
        _read(fields, now)
        del now[place]
        build()

    def add() -> None:
        _read(fields, now)
        series = max((int(row.get("series", 1)) for row in now), default=0) + 1
        now.append(NEW | {"series": series})
        build()

    def build() -> None:
        area.clear()
        for gone in [each for each in fields if each.startswith(f"[[{KEY}]]")]:
            del fields[gone]
        with area:
            for place, row in enumerate(now, 1):
                with ui.element("div").classes("row").props(f'role="group" aria-label="coupon {place}"'):
                    form.table(fields, KEY, row, f"[[{KEY}]] {place}")
                    frame.button(f"Take out coupon {place}", partial(take, place - 1))
            frame.button("Add coupons", add)

    build()


def _read(fields: form.Fields, now: list[dict[str, Any]]) -> None:
    """What the fields say, kept before they are drawn anew."""
    for place, row in enumerate(now, 1):
        start = f"[[{KEY}]] {place}, "
        row |= {
            name.removeprefix(start): each.value for name, each in fields.items() if name.startswith(start)
        }
