"""Powder lots and readings: what is on the shelf, what was measured, and tables dropped here."""

from __future__ import annotations

from markupsafe import Markup
from nicegui import ui

from sagger.desk import uploads
from sagger.desk.cards import shelf as cards
from sagger.desk.measuring import readings
from sagger.desk.powder import lots
from sagger.errors import SaggerError
from sagger.ledger.lots import Mover
from sagger.web import actions, markup, widgets
from sagger.web.base_page import page
from sagger.web.elements.upload import FilesTaken, Upload
from sagger.web.pages import powder
from sagger.web.rows import readings as rows

CHARTS = "Charts of a size: is it under control, does it keep to its tolerance?"
LOT_FILE = "Drop the lot file here, TOML, with mass and name filled in; before it the tables it names, CSV."
TABLES = "Drop tables of readings here, CSV: one row a reading, with its unit and instrument."


def register() -> None:
    ui.page("/readings")(_page)
    ui.page("/lots/{name}")(_lot)


def _page() -> None:
    with page("Lots and readings", wide=True):
        draft = uploads.begin()
        powders = cards.names("powder")["powder"]
        widgets.html("<h2>Powder on the shelf</h2>")
        shelf = widgets.html(_shelf())

        def refresh() -> None:
            shelf.content = str(_shelf())
            powder.refresh()

        _receive(draft, refresh)
        powder.by_hand(draft, powders, refresh)
        powder.moves(refresh)
        powder.cuts(powders)
        widgets.html("<h2>Readings</h2>")
        widgets.html(Markup("<p>{}</p>").format(markup.link("/charts", CHARTS)))
        _upload(draft)
        widgets.html("<h2>Instruments</h2>")
        _instruments()


def _lot(name: str) -> None:
    with page(f"Lot {name}"):
        widgets.link("/readings", "All lots")
        try:
            widgets.html(rows.lot(name, lots.show(name)[1], lots.size_picture(name)))
        except SaggerError as error:
            ui.label(str(error))


def _shelf() -> Markup:
    return rows.shelf(lots.shelf()[0].lots)


def _readings() -> Markup:
    document, lines = readings.listed()
    return rows.readings(lines if document.readings else ())


def _receive(draft: str, refresh: powder.Refresh) -> None:
    with ui.expansion("Book a lot in from its file").classes("more"):
        with ui.element("div").classes("fields"):
            mass = widgets.text_field("mass weighed, such as 60 kg")
            person = widgets.person_field("entered by")

        async def uploaded(name: str) -> None:
            if rows.waits_for_its_lot(name):
                widgets.notify(f"{name} is here; now the lot file that names it")
                return

            def book(who: str) -> str:
                mover = Mover(person=who, note=name, corrects=None)
                return lots.receive(uploads.held(draft, name), mass.value, mover)

            await powder.book(person, book, refresh)

        Upload(
            f"/api/uploads/{draft}/",
            LOT_FILE,
            FilesTaken((".toml", ".csv"), uploads.MOST_BYTES),
            on_uploaded=uploaded,
            on_refused=widgets.refuse,
        )


def _upload(draft: str) -> None:
    person = widgets.person_field("entered by")
    status = widgets.html("").props('aria-live="polite"')

    async def uploaded(name: str) -> None:
        taken = await actions.run_as(
            "plan", person, lambda who: readings.load(uploads.held(draft, name), who, name)
        )
        status.content = str(rows.taken(taken.lines)) if taken else ""
        shown.content = str(_readings())

    Upload(
        f"/api/uploads/{draft}/",
        TABLES,
        FilesTaken((".csv",), uploads.MOST_BYTES),
        on_uploaded=uploaded,
        on_refused=widgets.refuse,
    )
    shown = widgets.html(_readings())


def _instruments() -> None:
    def listed() -> str:
        document, lines = readings.instruments()
        return str(rows.instruments(lines if document.instruments else ()))

    shown = widgets.html(listed())
    with ui.expansion("Enter an instrument").classes("more"):
        with ui.element("div").classes("fields"):
            name = widgets.text_field("name")
            kind = widgets.choice(list(rows.KINDS), "length", "reads")
            doubts = {key: widgets.text_field(words) for key, words in rows.DOUBTS.items()}
            calibrated = widgets.text_field("calibrated on")
            person = widgets.person_field("entered by")

        def enter(who: str) -> str:
            entries = {key: field.value for key, field in doubts.items()}
            return readings.instrument(name.value, kind.value, entries, calibrated.value, who)

        async def do() -> None:
            words = await actions.run_as("plan", person, enter)
            if words:
                widgets.notify(words)
                shown.content = listed()

        widgets.button("Enter the instrument", do, may="plan")
