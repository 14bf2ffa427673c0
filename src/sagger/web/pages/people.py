"""Accounts: who may come in, and what they may do."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import Any

from nicegui import ui

from sagger.desk import people
from sagger.errors import InputError, SaggerError
from sagger.views.wording import moment
from sagger.web import blocks, frame

MEAN = {
    "look": "sees everything",
    "plan": "also brings orders, changes and plans them, enters readings, changes cards",
    "approve": "also approves plans and factors, and opens accounts",
}


def put_up() -> None:
    ui.page("/people")(_page)


def _page() -> None:
    with frame.page("People"):
        frame.show(blocks.facts(MEAN.items()))
        rows = [(row["name"], row["role"], moment(row["made"])) for row in people.listed()]
        if rows:
            frame.show(blocks.table(("Name", "may", "since, UTC"), rows, "Accounts"))
        else:
            frame.show(
                "<p>No accounts: the bench is open to whoever works on this machine. Once the first one is "
                "open, everybody has to come in by name and password, at once. It has to be one that may "
                "approve, so that it can open the others.</p>"
            )
        _open("look" if rows else people.ROLES[-1])
        if rows:
            _close([name for name, _, _ in rows])


def _open(usual: str) -> None:
    frame.show("<h2>Open an account, or change it</h2>")
    with ui.element("div").classes("fields"):
        name = frame.ask("name")
        role = ui.select(list(people.ROLES), value=usual, label="may").props("outlined stack-label")
        word = ui.input("password", password=True).props('outlined stack-label autocomplete="new-password"')

    def add() -> None:
        if not people.listed() and role.value != people.ROLES[-1]:
            remedy = f"Choose {people.ROLES[-1]}; it can open the others."
            raise InputError("nobody could approve", field="may", value=role.value, remedy=remedy)
        people.add(name.value, role.value, word.value)

    frame.button("Open it", lambda: _do(add), solid=True)


def _close(names: list[str]) -> None:
    frame.show("<h2>Close an account</h2>")
    name = ui.select(names, value=names[0], label="name").props("outlined stack-label").classes("narrow")

    def close() -> None:
        if name.value == frame.person()["name"]:
            raise InputError("your own account is closed by somebody else", field="name", value=name.value)
        people.close(name.value)

    frame.button("Close it", lambda: _do(close))


async def _do(deed: Callable[[], Any]) -> None:
    try:
        frame.allowed("approve")
        await asyncio.to_thread(deed)
        ui.navigate.to("/people")
    except SaggerError as error:
        frame.refused(error)
