"""Powder lots and readings: what is on the shelf, what was measured, and tables dropped here."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import Any

from markupsafe import Markup
from nicegui import ui

from sagger.desk import drafts, lots, readings
from sagger.desk import shelf as cards
from sagger.errors import SaggerError
from sagger.ledger.lots import Step
from sagger.views.wording import signed
from sagger.web import blocks, frame
from sagger.web.elements.drop import Drop
from sagger.web.pages import powder

SHOWN = 200  # readings, newest first; the command line lists all


def put_up() -> None:
    ui.page("/readings")(_page)
    ui.page("/lots/{name}")(_lot)


def _page() -> None:
    with frame.page("Lots and readings", wide=True):
        draft = drafts.begin()
        frame.show("<h2>Powder on the shelf</h2>")
        shelf = frame.show(_shelf())

        def look() -> None:
            shelf.content = str(_shelf())
            powder.refresh()

        powders = cards.cards("powder", "")[0]["cards"]["powder"]
        _receive(draft, shelf)
        powder.typed(draft, powders, look)
        powder.moves(look)
        powder.cuts(powders)
        frame.show("<h2>Readings</h2>")
        words = "Charts of a size: is it under control, does it keep to its tolerance?"
        frame.show(Markup("<p>{}</p>").format(blocks.link("/charts", words)))
        _bring(draft)
        frame.show(_readings())
        frame.show("<h2>Instruments</h2>")
        document, lines = readings.instruments()
        frame.show(
            blocks.items(lines) if document["instruments"] else "<p>No instruments are entered yet.</p>"
        )
        _instrument()


def _lot(name: str) -> None:
    with frame.page(f"Lot {name}"):
        frame.back("/readings", "All lots")
        try:
            lines, picture = lots.show(name)[1], lots.size_picture(name)
        except SaggerError as error:
            ui.label(str(error))
            return
        pairs = (line.strip().partition(": ") for line in lines)
        frame.show(blocks.facts((signed(head), signed(rest)) for head, _, rest in pairs))
        if picture:
            words = f"size curve of {blocks.safe(name)}"
            frame.show(f'<div class="picture" role="img" aria-label="{words}">{picture}</div>')


def _shelf() -> Markup:
    rows = [
        (
            blocks.link(f"/lots/{each['name']}", each["name"]),
            each["powder"],
            each["origin"],
            f"{each['mass_kg']:.3f}",
            _looks(each),
        )
        for each in lots.shelf()[0]["lots"]
    ]
    if not rows:
        return Markup("<p>No powder is booked in yet.</p>")
    head = ("Lot", "Powder", "Origin", "on the shelf, kg", "Look")
    return blocks.table(head, rows, "Powder on the shelf", numbers=(3,))


def _looks(each: dict[str, Any]) -> Markup:
    found = [finding for finding in each["findings"] if finding["level"] != "ok"]
    parts = [
        Markup("{} {}: {}").format(blocks.state(one["level"]), one["what"], one["text"]) for one in found
    ]
    return Markup("<br>").join(parts)


def _receive(draft: str, shelf: ui.html) -> None:
    with ui.expansion("Book a lot in from its file").classes("more"):
        with ui.element("div").classes("fields"):
            mass = frame.ask("mass weighed, such as 60 kg")
            who = powder.who()

        async def came(name: str) -> None:
            if name.endswith(".csv"):
                frame.told(f"{name} is here; now the lot file that names it")
                return

            def book() -> str:
                step = Step(person=who.value, note=name, corrects=None)
                return lots.receive(drafts.folder(draft) / name, mass.value, step)

            await _do(book)
            shelf.content = str(_shelf())
            powder.refresh()

        Drop(
            f"/api/inbox/{draft}/",
            "Drop the lot file here, TOML, with mass and name filled in; before it the tables it names, CSV.",
            (".toml", ".csv"),
            drafts.MOST_BYTES,
            on_came=came,
            on_refused=frame.refused,
        )


def _bring(draft: str) -> None:
    who = powder.who()
    told = ui.element("div").props('aria-live="polite"')

    async def came(name: str) -> None:
        taken = await _do(lambda: readings.load(drafts.folder(draft) / name, who.value, name))
        told.clear()
        if taken is not None:
            with told:
                frame.show(blocks.items(line.strip() for line in taken.lines))

    Drop(
        f"/api/inbox/{draft}/",
        "Drop tables of readings here, CSV: one row a reading, with its unit and instrument.",
        (".csv",),
        drafts.MOST_BYTES,
        on_came=came,
        on_refused=frame.refused,
    )


def _readings() -> Markup:
    document, lines = readings.listed()
    if not document["readings"]:
        return Markup("<p>No readings yet.</p>")
    rest = len(lines) - SHOWN
    more = Markup("<p>{} older ones: sagger readings lists all.</p>").format(rest) if rest > 0 else ""
    return blocks.items(reversed(lines[-SHOWN:])) + more


def _instrument() -> None:
    with ui.expansion("Enter an instrument").classes("more"):
        with ui.element("div").classes("fields"):
            name = frame.ask("name")
            kinds = ["length", "mass", "density", "hardness", "temperature"]
            kind = ui.select(kinds, value="length", label="reads").props("outlined stack-label")
            labels = {
                "u": "standard uncertainty of one reading, such as 0.005 mm",
                "u_shared": "of what all its readings share, such as 0.01 mm",
                "u_shared_relative": "the same as a share, such as 0.02 %",
            }
            doubts = {key: frame.ask(words) for key, words in labels.items()}
            calibrated = frame.ask("calibrated on")
            who = powder.who()

        async def enter() -> None:
            said = {key: each.value for key, each in doubts.items()}
            await _do(lambda: readings.instrument(name.value, kind.value, said, calibrated.value, who.value))

        frame.button("Enter the instrument", enter)


async def _do(deed: Callable[[], Any]) -> Any:
    """What the deed gave, or None after a refusal was shown."""
    try:
        frame.allowed("plan")
        given = await asyncio.to_thread(deed)
    except SaggerError as error:
        frame.refused(error)
        return None
    if isinstance(given, str):
        frame.told(given)
    return given
