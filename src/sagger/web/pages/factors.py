"""Approved oversize factors; a person approves new ones."""

from __future__ import annotations

from nicegui import ui

from sagger.cards import DEFAULTS
from sagger.desk.cards import shelf
from sagger.desk.measuring import approvals, typed_conditions
from sagger.web import actions, widgets
from sagger.web.base_page import page
from sagger.web.pages import proposals
from sagger.web.rows import factors as rows


def register() -> None:
    ui.page("/factors")(_page)


def _page() -> None:
    approved = approvals.newest_first()
    with page("Factors", wide=True):
        widgets.html(rows.NOTE)
        widgets.html(rows.approved(approved))
        widgets.html(rows.over_time(approved))
        proposals.build()
        widgets.html("<h2>Approve factors by hand</h2>")
        _form()
        if rows.held(approved):
            widgets.html("<h2>Withdraw an approval</h2>")
            _withdraw(rows.held(approved))


def _form() -> None:
    names = shelf.names("powder")["powder"]
    with ui.element("div").classes("fields three"):
        powder = widgets.choice(names, DEFAULTS.powder, "powder")
        person = widgets.person_field("approved by")
        reason = widgets.text_field("from which readings")
        fields = {key: widgets.text_field(label) for key, label in rows.LABELS.items()}
    with (
        ui.expansion("Measured under other conditions than the cards' usual ones").classes("more"),
        ui.element("div").classes("fields three"),
    ):
        under = {key: widgets.text_field(label) for key, label in rows.UNDER.items()}

    def approve(name: str) -> str:
        k, u = rows.typed({key: widgets.stripped(field) for key, field in fields.items()})
        words = typed_conditions.stated(
            *rows.stated({key: widgets.stripped(field) for key, field in under.items()})
        )
        return approvals.approve(typed_conditions.factors(powder.value, k, u), name, reason.value, words)

    async def do() -> None:
        words = await actions.run_as("approve", person, approve)
        if words:
            ui.navigate.to("/factors")
            widgets.notify(words)

    with ui.element("div").classes("acts"):
        widgets.button("Approve these factors", do, may="approve", solid=True)


def _withdraw(held: dict[int, str]) -> None:
    with ui.element("div").classes("fields three"):
        entry = widgets.choice(
            {str(number): words for number, words in held.items()}, str(next(iter(held))), "which"
        )
        person = widgets.person_field("withdrawn by")
        reason = widgets.text_field("why it does not hold")

    async def do() -> None:
        number, why = int(entry.value), str(reason.value)
        words = await actions.run_as("approve", person, lambda name: approvals.withdraw(number, name, why))
        if words:
            ui.navigate.to("/factors")
            widgets.notify(words)

    with ui.element("div").classes("acts"):
        widgets.button("Withdraw it", do, may="approve")
