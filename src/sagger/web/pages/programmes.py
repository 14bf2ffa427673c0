"""Oven and furnace of a job: their programmes as curves to be changed, and what the pieces do beneath."""

from __future__ import annotations

import asyncio

from nicegui import ui

from sagger.desk.planning import drafts, history, runs
from sagger.desk.planning.programmes import programmes
from sagger.errors import InputError, SaggerError
from sagger.goods.plain import Table
from sagger.goods.planned import WholePlan
from sagger.web import order_form, session, widgets
from sagger.web.base_page import page
from sagger.web.order_form import Fields
from sagger.web.pages.programme_editor import Editor
from sagger.web.rows import programmes as rows

NOTE = "Change a curve: what it does is worked out anew at once, and kept once you plan it."


def register() -> None:
    ui.page("/job/{number}/programmes")(_programmes)


def planned(number: int) -> WholePlan | None:
    """The plan of a job, or None after the page said why there is none."""
    try:
        plan = history.plan(number)
    except SaggerError as error:
        ui.label(str(error))
        return None
    widgets.link(f"/job/{number}", "Back to the route")
    if not isinstance(plan, WholePlan):
        ui.label("There is no plan yet.")
        return None
    return plan


def _programmes(number: int) -> None:
    with page("Programmes", wide=True, legend=True):
        plan = planned(number)
        if plan is not None:
            _editors(number, plan)


def _editors(number: int, plan: WholePlan) -> None:
    """An editor for each programme, in the order in which the pieces go through them."""
    known, version = programmes(number), history.version(number)
    tables = drafts.tables(version.id) if version else {}
    fields: Fields = {}
    editors: list[Editor] = []

    def changed() -> Table:
        return rows.with_changes(tables, [(each.heat, each.rows, each.point) for each in editors])

    if version and known:
        _acts(number, version.id, editors, fields)
    first, *others = rows.ovens(plan, known.oven if known else None, known.oven_most if known else 0.0)
    furnace = rows.furnace(plan, known.furnace if known else None, known.furnace_most if known else 0.0)
    editors.append(Editor(number, first, fields, changed, fixed=known is None))
    for heat in others:
        Editor(number, heat, {}, changed, fixed=True)
    if furnace is not None:
        editors.append(Editor(number, furnace, fields, changed, fixed=known is None))


def _acts(number: int, version: int, editors: list[Editor], fields: Fields) -> None:
    async def plan() -> None:
        try:
            person = session.require("plan")
            tables = editors[0].tables()
            new = await asyncio.to_thread(drafts.change, version, tables, person.name)
            job = await asyncio.to_thread(runs.ask, new, person.name)
            ui.navigate.to(f"/compare?one={number}&other={job}")
        except InputError as error:
            order_form.point(fields, error)
        except SaggerError as error:
            widgets.refuse(error)

    def undo() -> None:
        for editor in editors:
            editor.undo()

    widgets.html(f"<p>{NOTE}</p>")
    with ui.element("div").classes("acts keep"):
        widgets.button("Plan this beside the other", plan, may="plan", solid=True)
        widgets.button("Back to what was planned", undo, may="look")
