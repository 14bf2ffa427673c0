"""Powder on the shelf: every way it moves, as a form; and second cuts tried on a lot."""

from __future__ import annotations

import json
from collections.abc import Callable
from functools import partial

from nicegui import context, ui

from sagger.cards import DEFAULTS
from sagger.desk.pictures import tried, workers
from sagger.desk.powder import lot_typed, lots
from sagger.errors import SaggerError
from sagger.ledger.lots import Mover
from sagger.views.wording import signed
from sagger.web import actions, markup, widgets
from sagger.web.powder_moves import LOT, MOVES, PowderMove, words
from sagger.web.widgets import Field, PersonField

SIEVE_TABLE = "sieve table: opening and mass that stayed, a line each, pan 0"
_LOT_FIELDS = "lot fields"  # where a page keeps its lists of lots

Refresh = Callable[[], None]  # shows the shelf anew


def moves(refresh: Refresh) -> None:
    """A form for each way that powder moves."""
    for move in MOVES:
        with ui.expansion(move.title).classes("more"):
            _form(move, refresh)


def by_hand(draft: str, powders: list[str], refresh: Refresh) -> None:
    """A lot that comes without a file: what was weighed and sieved is typed in."""
    with ui.expansion("Type a lot in, with its sieve table").classes("more"):
        with ui.element("div").classes("fields"):
            fields: dict[str, Field] = {"name": widgets.text_field("name of the lot")}
            fields["powder"] = widgets.choice(powders, DEFAULTS.powder, "powder card")
            for key, label in lot_typed.ASKED.items():
                fields[key] = widgets.text_field(label)
            person = widgets.person_field("entered by")
        table = ui.textarea(SIEVE_TABLE)
        table.props(widgets.FIELD + ' rows=6 placeholder="53 um 12.4 g"')

        def receive(name: str) -> str:
            entries = {key: widgets.stripped(field) for key, field in fields.items()}
            return lot_typed.receive(draft, entries, table.value or "", name)

        widgets.button("Book the lot in", partial(book, person, receive, refresh), may="plan")


def cuts(powders: list[str]) -> None:
    """What second cuts would do to a lot."""
    with ui.expansion("Try second cuts on a lot").classes("more"):
        with ui.element("div").classes("fields"):
            lot = _lot("lot")
            others = widgets.text_field("other lots, commas between (empty = imagined ones)")
            powder = widgets.choice(powders, DEFAULTS.powder, "powder card")
        shown = widgets.html("").props('role="status" aria-live="polite"')

        async def blend() -> None:
            shown.content = "<p>trying …</p>"
            try:
                given = str(lot.value or ""), words(others.value), powder.value
                blended = json.loads(await workers.ask("tries", tried.blended, *given))
                shown.content = str(markup.items(signed(line.strip()) for line in blended["lines"]))
            except SaggerError as error:
                shown.content = ""
                widgets.refuse(error)

        widgets.button("Try them", blend, may="look")


async def book(person: PersonField, deed: Callable[[str], str], refresh: Refresh) -> None:
    """Book something in the name of a person, say so, and show the shelf anew."""
    done = await actions.run_as("plan", person, deed)
    if done:
        widgets.notify(done)
        refresh()


def refresh() -> None:
    """The lists of lots offer what is on the shelf now."""
    names = _names()
    for field in context.client.storage.get(_LOT_FIELDS, []):
        field.set_options(names, value=field.value if field.value in names else None)


def _form(move: PowderMove, refresh: Refresh) -> None:
    with ui.element("div").classes("fields"):
        fields = {
            key: _lot(label) if key == LOT else widgets.text_field(label)
            for key, label in move.labels.items()
        }
        person, note = widgets.person_field("entered by"), widgets.text_field("note")

    def deed(name: str) -> str:
        entries = {key: widgets.stripped(field) for key, field in fields.items()}
        return move.book(entries, Mover(person=name, note=note.value, once=True))

    widgets.button(move.button, partial(book, person, deed, refresh), may="plan")


def _lot(label: str) -> Field:
    names = _names()
    field = widgets.choice(names, names[0] if names else None, label)
    context.client.storage.setdefault(_LOT_FIELDS, []).append(field)
    return field


def _names() -> list[str]:
    return [lot.name for lot in lots.shelf()[0].lots]
