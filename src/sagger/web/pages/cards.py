"""Cards: what powders, binders, machines and shops are; every figure with source and standing."""

from __future__ import annotations

from functools import partial

from markupsafe import Markup
from nicegui import ui

from sagger.desk.cards import own_cards, shelf
from sagger.desk.cards.own_cards import STANDINGS, Entry
from sagger.errors import SaggerError
from sagger.web import actions, markup, widgets
from sagger.web.base_page import page
from sagger.web.rows import cards as rows
from sagger.web.widgets import Field


def register() -> None:
    ui.page("/cards")(_all)
    ui.page("/cards/{kind}/{name}")(_one)


def _all() -> None:
    with page("Cards"):
        widgets.html(rows.NOTE)
        for kind, names in shelf.names().items():
            table = markup.table(rows.HEAD, [_row(kind, name) for name in names], kind, numbers=(3, 4))
            widgets.html(Markup("<h2>{}</h2>{}").format(kind.capitalize(), table))


def _row(kind: str, name: str) -> tuple[object, ...]:
    try:
        return rows.card_row(kind, name, shelf.described(kind, name)[0], own_cards.own(kind, name))
    except SaggerError as error:
        return rows.refused_row(name, error)


def _one(kind: str, name: str, line: str = "") -> None:
    with page(f"{kind.capitalize()} card {name}", wide=True, legend=True):
        widgets.link("/cards", "All cards")
        try:
            entries = own_cards.entries(kind, name)
        except SaggerError as error:
            ui.label(str(error))
            return
        chosen = next((entry for entry in entries if entry.path == line), None)
        if chosen:
            _form(kind, name, chosen)
        widgets.html(rows.whose(own_cards.own(kind, name)))
        lines = [rows.line_row(kind, name, entry.path, dict(entry.parts), entry.figure) for entry in entries]
        widgets.html(markup.table(rows.LINES_HEAD, lines, f"Lines of {name}"))


def _form(kind: str, name: str, entry: Entry) -> None:
    values = dict(entry.parts)
    parts = own_cards.FIGURE if entry.figure else ("value",)
    with ui.element("section").classes("next").props('aria-label="Change a line"'):
        widgets.html(Markup("<h2>Change: {}</h2>").format(rows.words(entry.path)))
        with ui.element("div").classes("fields"):
            fields = {part: _field(part, values.get(part, "")) for part in parts}
        with ui.element("div").classes("acts"):
            keep = partial(_keep, kind, name, entry, fields)
            widgets.button("Keep on the shop's own card", keep, may="plan", solid=True)
            widgets.link(f"/cards/{kind}/{name}", "Leave it as it is", "plain")
        if entry.figure:
            _new_source()


def _field(part: str, value: str) -> Field:
    label = rows.LABELS.get(part, part)
    if part == "standing":
        return widgets.choice(rows.standings(STANDINGS), value or "measured", label)
    if part == "source":
        known = {source.key: f"{source.key}: {source.text[:60]}" for source in own_cards.sources()}
        chosen = value if value in known else None
        return ui.select(known, value=chosen, label=label, with_input=True).props(widgets.FIELD)
    return ui.input(label, value=value).props(widgets.FIELD)


async def _keep(kind: str, name: str, entry: Entry, fields: dict[str, Field]) -> None:
    parts = {part: str(field.value or "") for part, field in fields.items()}

    def change() -> bool:
        own_cards.change(kind, name, entry.path, parts)
        return True

    if await actions.run("plan", change):
        ui.navigate.to(f"/cards/{kind}/{name}")


def _new_source() -> None:
    with ui.expansion("A source that is not in the list").classes("more"):
        with ui.element("div").classes("fields"):
            key = widgets.text_field("key, such as own-2027-03")
            title = widgets.text_field("title")
            seen = widgets.text_field("what of it was read or measured")

        def add() -> bool:
            own_cards.add_source(key.value, title.value, seen.value)
            return True

        async def do() -> None:
            if await actions.run("plan", add):
                ui.navigate.reload()

        widgets.button("Add the source", do, may="plan")
