"""Where the pictures of a job stand: its box, its layers, its parts."""

from __future__ import annotations

from nicegui import ui

from sagger.desk import history
from sagger.errors import SaggerError
from sagger.web import blocks, frame


def put_up() -> None:
    ui.page("/job/{number}/bed")(_bed)
    ui.page("/job/{number}/layers")(_layers)
    ui.page("/job/{number}/part")(_parts)
    ui.page("/job/{number}/part/{name}")(_part)


def _bed(number: int) -> None:
    _place(number, "Box")


def _layers(number: int) -> None:
    _place(number, "Layers")


def _parts(number: int) -> None:
    plan = history.plan(number)
    with frame.page("Parts"):
        _back(number)
        names = [part["name"] for part in plan["parts"]] if plan else []
        frame.show(blocks.items(blocks.link(f"/job/{number}/part/{name}", name) for name in names))


def _part(number: int, name: str) -> None:
    _place(number, name)


def _place(number: int, title: str) -> None:
    """The picture comes here; until then the page says so."""
    with frame.page(title, wide=True):
        try:
            history.facts(number)
        except SaggerError as error:
            ui.label(str(error))
            return
        _back(number)
        ui.label("The picture comes here.")


def _back(number: int) -> None:
    frame.show(blocks.link(f"/job/{number}", "Back to the route"))
