"""A new order: files are uploaded, looked at, and planned."""

from __future__ import annotations

import asyncio
from functools import partial
from pathlib import Path

from markupsafe import Markup
from nicegui import ui

from sagger.desk import uploads
from sagger.desk.pictures.faces import PartSource
from sagger.desk.planning import drafts, runs, stated_lines
from sagger.desk.planning.drafts import UploadedFile
from sagger.errors import InputError, SaggerError
from sagger.files.parts import ENDINGS
from sagger.goods import plain
from sagger.goods.plain import Table
from sagger.web import coupon_fields, face_panel, order_form, session, widgets
from sagger.web.base_page import page
from sagger.web.elements.upload import FilesTaken, Upload
from sagger.web.face_panel import ClickedPart
from sagger.web.order_form import Fields
from sagger.web.rows import new_order as rows
from sagger.web.rows import order_fields
from sagger.web.rows.new_order import FormPart

WORDS = "Drop part files here, or choose them: STL, 3MF, STEP, OBJ, PLY. An order file (TOML) fills the form."


def register() -> None:
    ui.page("/new")(_begin)
    ui.page("/new/{draft}")(_page)


def _begin() -> None:
    # A draft has an address, so that files outlast a closed page.
    try:
        session.require("plan")
        ui.navigate.to(f"/new/{uploads.begin()}")
    except SaggerError as error:
        with page("New order"):
            ui.label(str(error))


async def _page(draft: str) -> None:
    with page("New order", wide=True):
        ui.add_head_html('<link rel="stylesheet" href="/bench/pictures.css">')
        if not uploads.known(draft):
            ui.label("There is no such draft. Begin a new order.")
            return

        async def uploaded(name: str) -> None:
            await _look(draft, area)

        Upload(
            f"/api/uploads/{draft}/",
            WORDS,
            FilesTaken((*ENDINGS, ".toml"), uploads.MOST_BYTES),
            on_uploaded=uploaded,
            on_refused=widgets.refuse,
        )
        area = ui.element("div").props('aria-live="polite"')
        await _look(draft, area)


async def _look(draft: str, area: ui.element) -> None:
    """Read what was uploaded, show it, and ask what is wanted of it."""
    area.clear()
    with area:
        ui.label("reading the files …")
    files = await asyncio.to_thread(drafts.uploaded, draft)
    area.clear()
    with area:
        if files:
            widgets.html(rows.files_table(files))
            widgets.html(rows.refusals(files))
            with ui.element("div").classes("acts"):
                for file in files:
                    widgets.button(
                        f"Take out {file.name}", partial(_remove, draft, area, file.name), may="plan"
                    )
        if rows.ready(files):
            _form(draft, files)
        elif not files:
            _coupons_alone(draft, area)


async def _remove(draft: str, area: ui.element, name: str) -> None:
    try:
        session.require("plan")
    except InputError as error:
        widgets.refuse(error)
        return
    drafts.drop(draft, name)
    await _look(draft, area)


def _coupons_alone(draft: str, area: ui.element) -> None:
    def begin() -> None:
        area.clear()
        with area:
            _form(draft, [])

    with ui.element("div").classes("acts"):
        widgets.button("An order of coupons alone", begin, may="plan")


def _form(draft: str, files: list[UploadedFile]) -> None:
    try:
        order = drafts.order_in(draft) or {}
    except InputError as error:
        widgets.refuse(error)
        order = {}
    at, parts = stated_lines.of_draft(draft), rows.form_parts(files, order)
    fields = _fields((draft, at), parts, order)

    async def plan() -> None:
        try:
            person = session.require("plan").name
            entries = order_form.entries(fields)
            rows.check_units(entries, parts)
            said = order_fields.tables(entries, [part.key for part in parts], order)
            tables = order_fields.without_left_out(stated_lines.taken_in(said, at))
            version = await asyncio.to_thread(drafts.save, draft, tables, person)
            job = await asyncio.to_thread(runs.ask, version, person)
            ui.navigate.to(f"/job/{job}")
        except InputError as error:
            order_form.point(fields, error)
        except SaggerError as error:
            widgets.refuse(error)

    with ui.element("div").classes("acts"):
        widgets.button("Plan it", plan, may="plan", solid=True)


def _fields(draft: tuple[str, Path], parts: list[FormPart], order: Table) -> Fields:
    """Every table of the order as fields, holding what is written so far."""
    fields: Fields = {}
    for name in order_fields.PLAIN:
        widgets.html(f"<h2>{name.capitalize()}</h2>")
        usual = rows.first_order([part.file for part in parts]) if name == "order" else {}
        order_form.table(fields, name, plain.table(order, name) or usual)
    for number, part in enumerate(parts, 1):
        widgets.html(Markup("<h2>{}</h2>").format(rows.heading(part)))
        first = rows.first_part(part, order)
        order_form.table(fields, "part", first, f"[[part]] {number}")
        if part.key.body != rows.ALL:
            _faces(draft, (number, part, first), fields)
    widgets.html("<h2>Coupons</h2>")
    coupon_fields.editor(fields, plain.rows(order, "coupon"))
    return fields


def _faces(draft: tuple[str, Path], shown: tuple[int, FormPart, Table], fields: Fields) -> None:
    """The part's picture, once it is asked for: a page draws few of them at a time."""
    (token, at), (number, part, first) = draft, shown

    def entry(key: str) -> str:
        return str(fields[f"[[part]] {number}, {key}"].value or "")

    def source() -> PartSource:
        return PartSource(str(uploads.held(token, part.key.file)), entry("unit"), part.key.body)

    def row() -> Table:
        given: Table = {"file": part.key.file, "tolerance": entry("tolerance"), "unit": entry("unit")}
        return {**first, **given, "body": part.key.body}

    async def show() -> None:
        session.require("plan")
        area.clear()
        with area:
            await face_panel.opened(ClickedPart(source, row, at, number - 1, needs_unit=part.file.needs_unit))

    with ui.element("div").classes("acts"):
        widgets.button(f"Dimensions on the faces of {part.name}", show, may="plan")
    area = ui.element("div")
