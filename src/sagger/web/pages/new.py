"""A new order: files are brought, looked at, and planned."""

from __future__ import annotations

import asyncio
from typing import Any

from markupsafe import Markup
from nicegui import ui

from sagger.desk import drafts, runs
from sagger.errors import InputError, SaggerError
from sagger.files.parts import ENDINGS
from sagger.units import into
from sagger.views.wording import digits_of, sizes
from sagger.web import blocks, coupons, form, frame
from sagger.web.elements.drop import Drop

WORDS = "Drop part files here, or choose them: STL, 3MF, STEP, OBJ, PLY. An order file (TOML) fills the form."


def put_up() -> None:
    ui.page("/new")(_begin)
    ui.page("/new/{draft}")(_page)


def _begin() -> None:
    # A draft has an address, so that a closed page loses nothing.
    try:
        frame.allowed("plan")
        ui.navigate.to(f"/new/{drafts.begin()}")
    except SaggerError as error:
        with frame.page("New order"):
            ui.label(str(error))


async def _page(draft: str) -> None:
    with frame.page("New order"):
        try:
            drafts.folder(draft)
        except InputError as error:
            ui.label(str(error))
            return

        async def came(name: str) -> None:
            await _look(draft, area, name)

        Drop(
            f"/api/inbox/{draft}/",
            WORDS,
            (*ENDINGS, ".toml"),
            drafts.MOST_BYTES,
            on_came=came,
            on_refused=frame.refused,
        )
        area = ui.element("div").props('aria-live="polite"')
        await _look(draft, area, "")


async def _look(draft: str, area: ui.element, name: str) -> None:
    """Read what came, show it, and ask what is wanted of it."""
    area.clear()
    with area:
        ui.label("reading the files …")
    files = await asyncio.to_thread(drafts.came, draft)
    area.clear()
    parts = [each for each in files if each.kind not in ("", "order", "lot")]
    with area:
        if files:
            frame.show(Markup("<h2>Files</h2>{}").format(_files(files)))
        for each in files:
            if not each.kind:
                frame.show(Markup('<p class="said" role="alert">{}</p>').format(each.said))
        _drops(draft, area, [each.name for each in files])
        if parts or any(each.kind == "order" for each in files):
            _form(draft, parts)
        elif not files:
            _coupons_alone(draft, area)


def _files(files: list[drafts.Came]) -> Markup:
    rows = [
        (
            each.name,
            each.kind or blocks.state("failed"),
            _size(each) if each.size else each.said,
            digits_of(each.triangles) if each.triangles else "",
        )
        for each in files
    ]
    return blocks.table(("File", "Kind", "Overall size x × y × z", "Triangles"), rows, "Files", numbers=(3,))


def _size(of: drafts.Came) -> str:
    """Overall size; of a file that names no unit, what it would be in the two that come most often."""
    assert of.size is not None
    if not of.needs_unit:
        return f"{sizes(of.size)} mm"
    inches = (side * into(1.0, "mm") / into(1.0, "in") for side in of.size)
    return f"{sizes(of.size)} mm if drawn in mm, {sizes(inches)} mm if in inches; the file does not say"


def _drops(draft: str, area: ui.element, names: list[str]) -> None:
    if not names:
        return
    with ui.element("div").classes("acts"):
        for name in names:

            async def do(name: str = name) -> None:
                try:
                    frame.allowed("plan")
                except InputError as error:
                    frame.refused(error)
                    return
                drafts.drop(draft, name)
                await _look(draft, area, "")

            frame.button(f"Take out {name}", do)


def _coupons_alone(draft: str, area: ui.element) -> None:
    def begin() -> None:
        area.clear()
        with area:
            _form(draft, [])

    with ui.element("div").classes("acts"):
        frame.button("An order of coupons alone", begin)


def _form(draft: str, parts: list[drafts.Came]) -> None:
    try:
        said = drafts.order_in(draft) or {}
    except InputError as error:
        frame.refused(error)
        said = {}
    fields = _fields(parts, said)

    async def plan() -> None:
        try:
            who = frame.allowed("plan")
            _ask_units(fields, parts)
            tables = form.read(fields, [part.name for part in parts], said)
            version = await asyncio.to_thread(drafts.keep, draft, tables, who["name"])
            job = await asyncio.to_thread(runs.ask, version, who["name"])
            ui.navigate.to(f"/job/{job}")
        except InputError as error:
            form.point(fields, error)
        except SaggerError as error:
            frame.refused(error)

    with ui.element("div").classes("acts"):
        frame.button("Plan it", plan, solid=True)


def _fields(parts: list[drafts.Came], said: dict[str, Any]) -> form.Fields:
    """Every table of the order as fields, holding what is said so far."""
    fields: form.Fields = {}
    named = {"name": parts[0].name.rpartition(".")[0] if parts else "coupons"}
    for name in ("order", "cards", "choices", "nesting"):
        frame.show(f"<h2>{name.capitalize()}</h2>")
        form.table(fields, name, said.get(name, named if name == "order" else {}))
    by_file = {part["file"]: part for part in said.get("part", [])}
    for place, part in enumerate(parts, 1):
        frame.show(Markup("<h2>Part: {}</h2>").format(part.name))
        form.table(fields, "part", by_file.get(part.name, {"tolerance": "2 %"}), f"[[part]] {place}")
    frame.show("<h2>Coupons</h2>")
    coupons.editor(fields, said.get("coupon", []))
    return fields


def _ask_units(fields: form.Fields, parts: list[drafts.Came]) -> None:
    """A unit is not guessed: an inch taken for a millimetre makes a part 25 times too small."""
    for place, part in enumerate(parts, 1):
        where = f"[[part]] {place}, unit"
        if part.needs_unit and not fields[where].value:
            what = f"{part.name} does not say its unit"
            raise InputError(what, field=where, remedy="Choose it; its size above shows which it must be.")
