"""Cards: what powders, binders, machines and shops are; every figure with source and standing."""

from __future__ import annotations

from typing import Any
from urllib.parse import quote

from markupsafe import Markup
from nicegui import ui

from sagger.desk import own_cards, shelf
from sagger.desk.own_cards import STANDINGS, Entry
from sagger.errors import SaggerError
from sagger.views.standing import WORDS
from sagger.views.wording import signed
from sagger.web import blocks, frame

LABELS = {
    "value": "value, with its unit",
    "range": "range, such as 7.9 to 8.0 g/cm3",
    "u": "standard uncertainty, with its unit",
    "source": "source",
    "where": "where in it: page, table",
    "standing": "standing",
}

_BARE = str.maketrans("", "", '[]"')  # of a list of words, as it stands in the file


def put_up() -> None:
    ui.page("/cards")(_all)
    ui.page("/cards/{kind}/{name}")(_one)


def _all() -> None:
    with frame.page("Cards"):
        frame.show(
            "<p>Shipped cards are generic. Change a figure and the card becomes the shop's own; the command "
            "line uses it too.</p>"
        )
        listed = shelf.cards("", "")[0]["cards"]
        for kind, names in listed.items():
            rows = [_row(kind, name) for name in names]
            head = ("Card", "What it is", "Whose", "from memory", "assumed")
            body = blocks.table(head, rows, kind, numbers=(3, 4))
            frame.show(Markup("<h2>{}</h2>{}").format(kind.capitalize(), body))


def _row(kind: str, name: str) -> tuple[object, ...]:
    try:
        document = shelf.cards(kind, name)[0]
    except SaggerError as error:
        return name, str(error), blocks.state("failed"), "", ""
    standings = [figure["standing"] for figure in document["figures"]]
    whose = "the shop's own" if own_cards.own(kind, name) else "shipped"
    title = blocks.link(f"/cards/{kind}/{name}", name)
    return title, document["title"], whose, standings.count("memory"), standings.count("assumed")


def _one(kind: str, name: str, line: str = "") -> None:
    with frame.page(f"{kind.capitalize()} card {name}", wide=True):
        frame.back("/cards", "All cards")
        try:
            entries = own_cards.entries(kind, name)
        except SaggerError as error:
            ui.label(str(error))
            return
        chosen = next((entry for entry in entries if entry.path == line), None)
        if chosen:
            _form(kind, name, chosen)
        whose = (
            "The shop's own copy."
            if own_cards.own(kind, name)
            else "Shipped; a change makes a copy of your own."
        )
        frame.show(Markup("<p>{} Choose a line to change it.</p>").format(whose))
        head = ("Line", "Value", "Range or ±", "Standing", "Source", "Where")
        rows = [_line(kind, name, entry) for entry in entries]
        frame.show(blocks.table(head, rows, f"Lines of {name}"))


def _line(kind: str, name: str, entry: Entry) -> tuple[object, ...]:
    said = dict(entry.said)
    words = entry.path.replace("_", " ").replace(".", ", ")
    title = blocks.link(f"/cards/{kind}/{name}?line={quote(entry.path)}", words)
    if not entry.figure:
        return title, said["value"].translate(_BARE), "", "", "", ""
    standing = said.get("standing", "")
    spread = said.get("range") or (f"± {said['u']}" if "u" in said else "")
    value = blocks.figure(signed(said["value"]), standing)
    return title, value, signed(spread), standing, said.get("source", ""), said.get("where", "")


def _form(kind: str, name: str, entry: Entry) -> None:
    said = dict(entry.said)
    parts = own_cards.FIGURE if entry.figure else ("value",)
    with ui.element("section").classes("next").props('aria-label="Change a line"'):
        words = entry.path.replace("_", " ").replace(".", ", ")
        frame.show(Markup("<h2>Change: {}</h2>").format(words))
        with ui.element("div").classes("fields"):
            fields = {part: _field(part, said.get(part, "")) for part in parts}
        with ui.element("div").classes("acts"):
            frame.button("Keep on the shop's own card", lambda: _keep(kind, name, entry, fields), solid=True)
            frame.show(blocks.link(f"/cards/{kind}/{name}", "Leave it as it is", "plain"))
        if entry.figure:
            _new_source()


def _field(part: str, value: str) -> Any:
    if part == "standing":
        options = {word: f"{word}: {WORDS[word]}" for word in STANDINGS}
        made: Any = ui.select(options, value=value or "measured", label=LABELS[part])
    elif part == "source":
        known = {source.key: f"{source.key}: {source.text[:60]}" for source in own_cards.sources()}
        made = ui.select(known, value=value if value in known else None, label=LABELS[part], with_input=True)
    else:
        made = ui.input(LABELS.get(part, part), value=value)
    return made.props("outlined stack-label")


def _keep(kind: str, name: str, entry: Entry, fields: dict[str, Any]) -> None:
    try:
        frame.allowed("plan")
        own_cards.change(
            kind, name, entry.path, {part: str(each.value or "") for part, each in fields.items()}
        )
        ui.navigate.to(f"/cards/{kind}/{name}")
    except SaggerError as error:
        frame.refused(error)


def _new_source() -> None:
    with ui.expansion("A source that is not in the list").classes("more"):
        with ui.element("div").classes("fields"):
            key = frame.ask("key, such as own-2027-03")
            title = frame.ask("title")
            seen = frame.ask("what of it was read or measured")

        def add() -> None:
            try:
                frame.allowed("plan")
                own_cards.add_source(key.value, title.value, seen.value)
                ui.navigate.reload()
            except SaggerError as error:
                frame.refused(error)

        frame.button("Add the source", add)
