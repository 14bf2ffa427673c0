"""Changing a choice: a new version of the order, planned beside the one before."""

from __future__ import annotations

import asyncio

from markupsafe import Markup
from nicegui import ui

from sagger.desk import drafts, history, runs
from sagger.errors import InputError, SaggerError
from sagger.web import blocks, coupons, form, frame


def put_up() -> None:
    ui.page("/job/{number}/change")(_page)


def _page(number: int) -> None:
    with frame.page("Change something", wide=True):
        try:
            version = history.version(number)
            if version is None:
                raise InputError(
                    "this job plans an order file that lies elsewhere",
                    remedy="Change the file, or bring it here as a new order.",
                )
            tables = drafts.tables(version["id"])
        except SaggerError as error:
            ui.label(str(error))
            return
        frame.show(blocks.link(f"/job/{number}", "Back to the route"))
        frame.show(
            Markup("<p>What is kept here becomes version {}; the one before stays.</p>").format(
                len(history.versions_of(version["thread"])) + 1
            )
        )
        _form(number, version["id"], tables)


def _form(number: int, version: int, tables: dict[str, object]) -> None:
    fields: form.Fields = {}
    parts: list[dict[str, object]] = tables["part"]  # type: ignore[assignment]
    for name, title in (("choices", "Choices"), ("cards", "Cards"), ("nesting", "Nesting")):
        frame.show(f"<h2>{title}</h2>")
        form.table(fields, name, tables.get(name, {}))  # type: ignore[arg-type]
    for place, part in enumerate(parts, 1):
        frame.show(Markup("<h2>Part: {}</h2>").format(part.get("name") or part["file"]))
        form.table(fields, "part", part, f"[[part]] {place}")
    frame.show("<h2>Coupons</h2>")
    coupons.editor(fields, tables.get("coupon", []))  # type: ignore[arg-type]
    frame.show("<h2>Order</h2>")
    form.table(fields, "order", tables["order"])  # type: ignore[arg-type]

    async def keep() -> None:
        try:
            who = frame.allowed("plan")
            said = form.read(fields, [str(part["file"]) for part in parts], tables)
            new = await asyncio.to_thread(drafts.change, version, said, who["name"])
            job = await asyncio.to_thread(runs.ask, new, who["name"])
            ui.navigate.to(f"/compare?one={number}&other={job}")
        except InputError as error:
            form.point(fields, error)
        except SaggerError as error:
            frame.refused(error)

    with ui.element("div").classes("acts"):
        frame.button("Plan this beside the other", keep, solid=True)
