"""Factors learnt from readings: proposals that wait for a person, and asking for new ones."""

from __future__ import annotations

from functools import partial

from markupsafe import Markup
from nicegui import ui

from sagger.cards import DEFAULTS
from sagger.desk.cards import shelf
from sagger.desk.measuring import learning
from sagger.desk.pictures import tried, workers
from sagger.errors import SaggerError
from sagger.views.words.learned import ProposalDocument
from sagger.web import actions, session, widgets
from sagger.web.rows import proposals as rows
from sagger.web.widgets import Field, PersonField


def build() -> None:
    """The proposals as part of a page."""
    widgets.html("<h2>Learnt from readings</h2>")
    _ask()
    waiting = learning.waiting()
    if not waiting:
        widgets.html("<p>No proposal waits.</p>")
    for proposal in waiting[: rows.SHOWN]:
        _proposal(proposal)
    if len(waiting) > rows.SHOWN:
        older = len(waiting) - rows.SHOWN
        widgets.html(Markup("<p>{} older ones are not shown.</p>").format(older))


def _ask() -> None:
    cards = shelf.names("powder", "box")
    with ui.expansion("Ask what the readings say").classes("more"):
        with ui.element("div").classes("fields"):
            powder = widgets.choice(cards["powder"], DEFAULTS.powder, "powder of the readings")
            maps = {"": "no map"} | {name: name for name in cards["box"]}
            box = widgets.choice(maps, "", "map the bed of")
            lot = widgets.text_field("only this lot (empty = all)")
            boxes = widgets.text_field("only these printed boxes, commas between")
            person = widgets.person_field("asked by")

        async def ask() -> None:
            try:
                session.require("plan")
                given = powder.value, box.value, rows.boxes(boxes.value), rows.asked_by(person.name())
                await workers.ask("tries", tried.learnt, *given, lot.value)
                ui.navigate.to("/factors")
            except SaggerError as error:
                widgets.refuse(error)

        widgets.button("Work out a proposal", ask, may="plan")


def _proposal(proposal: ProposalDocument) -> None:
    entry = proposal.entry
    with ui.element("section").classes("next").props(f'aria-label="Proposal {entry}"'):
        widgets.html(rows.proposal(proposal))
        if rows.blocked(proposal):
            widgets.html(rows.BLOCKED)
            return
        with ui.element("div").classes("acts"):
            person, reason = widgets.person_field("approved by"), widgets.text_field("why it is right")
            act = partial(_approve, entry, person, reason)
            widgets.button("Approve this proposal", act, may="approve", solid=True)


async def _approve(entry: int, person: PersonField, reason: Field) -> None:
    why = reason.value
    words = await actions.run_as("approve", person, lambda name: learning.approve(entry, name, why))
    if words:
        ui.navigate.to("/factors")
        widgets.notify(words)
