"""Accounts: who may sign in, and what they may do."""

from __future__ import annotations

from collections.abc import Callable

from nicegui import ui

from sagger.desk import people
from sagger.errors import SaggerError
from sagger.web import actions, session, widgets
from sagger.web.base_page import page
from sagger.web.rows import people as rows


def register() -> None:
    ui.page("/people")(_page)


def _page() -> None:
    accounts = people.listed()
    with page("People"):
        widgets.html(rows.accounts(accounts))
        _open(rows.usual_role(accounts))
        if accounts:
            _close([account.name for account in accounts])


def _open(usual: str) -> None:
    widgets.html("<h2>Open an account, or change it</h2>")
    with ui.element("div").classes("fields"):
        name = widgets.text_field("name")
        role = widgets.choice(list(rows.ROLES), usual, "may")
        password = ui.input("password", password=True).props(f'{widgets.FIELD} autocomplete="new-password"')

    def add() -> bool:
        rows.check_first(people.listed(), role.value)
        people.add(name.value, role.value, password.value)
        return True

    widgets.button("Open it", lambda: _do(add), may="approve", solid=True)


def _close(names: list[str]) -> None:
    widgets.html("<h2>Close an account</h2>")
    name = widgets.choice(names, names[0], "account").classes("narrow")

    def close() -> bool:
        people.close(name.value)
        return True

    async def do() -> None:
        try:
            rows.check_not_own(name.value, session.person().name)
        except SaggerError as error:
            widgets.refuse(error)
            return
        await _do(close)

    widgets.button("Close it", do, may="approve")


async def _do(deed: Callable[[], bool]) -> None:
    if await actions.run("approve", deed):
        ui.navigate.to("/people")
