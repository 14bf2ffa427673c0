"""Changing the programmes of oven and furnace, point by point: a new version of the order."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from functools import partial
from typing import Any

from nicegui import ui
from pydantic import BaseModel

from sagger.desk import drafts, history, runs
from sagger.errors import InputError, SaggerError
from sagger.files.order_form import FurnaceStretch, OvenStretch
from sagger.views import programme
from sagger.web import form, frame
from sagger.web.pages.programmes import chart, planned

Rows = list[dict[str, Any]]
NEW: dict[str, dict[str, Any]] = {
    "oven_programme": {"rate": "2 K/min", "target": "120 degC", "hold": "30 min"},
    "furnace_programme": {
        "stage": "sintering",
        "rate": "5 K/min",
        "target": "1000 degC",
        "hold": "30 min",
        "atmosphere": "hydrogen",
    },
}
MODELS: dict[str, type[BaseModel]] = {"oven_programme": OvenStretch, "furnace_programme": FurnaceStretch}


def put_up() -> None:
    ui.page("/job/{number}/programmes/change")(_page)


def _page(number: int) -> None:
    with frame.page("Change the programmes", wide=True):
        plan = planned(number)
        version = history.version(number)
        if plan is None or version is None:
            ui.label("Only the programmes of an order that was planned here can be changed.")
            return
        tables = drafts.tables(version["id"])
        fields: form.Fields = {}
        frame.show("<h2>Oven, before the set point is held until the last piece is cured</h2>")
        oven = list(tables.get("oven_programme", []))
        point = frame.ask("set point", f"{plan['cure']['oven_temperature_degC']:g} degC")
        fields["[choices], oven"] = point.classes("narrow")
        _editor("oven_programme", oven, fields)
        fired: Rows = list(tables.get("furnace_programme", [])) or _as_planned(plan)
        if plan["sinter"]:
            frame.show("<h2>Furnace</h2>")
            _editor("furnace_programme", fired, fields)
        with ui.element("div").classes("acts"):
            said = {"oven_programme": oven, "furnace_programme": fired}
            frame.button(
                "Plan this beside the other", lambda: _keep(number, tables, said, fields, plan), solid=True
            )


def _as_planned(plan: dict[str, Any]) -> Rows:
    """The stretches that were planned, as an order file writes them."""
    return [
        {
            "stage": each["stage"],
            "rate": f"{each['rate_K_per_min']:g} K/min",
            "target": f"{each['target_degC']:g} degC",
            "hold": f"{each['hold_min']:g} min",
            "atmosphere": each["atmosphere"],
        }
        for each in (plan["sinter"] or {"programme": []})["programme"]
    ]


def _editor(name: str, rows: Rows, fields: form.Fields) -> None:
    """Rows of fields with the curve beneath, which follows what is written."""
    area = ui.element("div")
    shown = chart(programme.drawn(rows), "temperature as written over hours")

    def follow() -> None:
        shown.options.update(programme.drawn(rows))
        shown.set_visibility(bool(rows))
        shown.update()

    def build() -> None:
        area.clear()
        for gone in [each for each in fields if each.startswith(f"[[{name}]]")]:
            del fields[gone]
        with area:
            for place, row in enumerate(rows, 1):
                _row(name, place, row, fields, follow, partial(take_out, row))
            frame.button("Add a stretch", add)
        follow()

    def take_out(row: dict[str, Any]) -> None:
        rows.remove(row)
        build()

    def add() -> None:
        rows.append(dict(rows[-1] if rows else NEW[name]))
        build()

    build()


def _row(
    name: str,
    place: int,
    row: dict[str, Any],
    fields: form.Fields,
    follow: Callable[[], None],
    take_out: Callable[[], None],
) -> None:
    with ui.element("div").classes("stretch").props(f'role="group" aria-label="stretch {place}"'):
        for key in NEW[name]:

            def heard(event: Any, key: str = key) -> None:
                row[key] = event.value
                follow()

            words = form.words(MODELS[name], key)
            made: Any = (
                ui.select(list(words), value=row.get(key), label=key, on_change=heard)
                if words
                else ui.input(key, value=row.get(key, ""), on_change=heard)
            )
            fields[f"[[{name}]] {place}, {key}"] = made.props(frame.LOOK)
        frame.button("Take out", take_out)


async def _keep(
    number: int, tables: dict[str, Any], said: dict[str, Rows], fields: form.Fields, plan: dict[str, Any]
) -> None:
    new = tables | {"choices": dict(tables.get("choices", {}))}
    if said["oven_programme"] or "oven_programme" in tables:
        new["oven_programme"] = said["oven_programme"]
    if said["furnace_programme"] != _as_planned(plan) or "furnace_programme" in tables:
        new["furnace_programme"] = said["furnace_programme"]
    point = fields["[choices], oven"].value
    if point != f"{plan['cure']['oven_temperature_degC']:g} degC":
        new["choices"]["oven"] = point
    try:
        who = frame.allowed("plan")
        version = history.version(number)
        made = await asyncio.to_thread(drafts.change, version["id"] if version else 0, new, who["name"])
        job = await asyncio.to_thread(runs.ask, made, who["name"])
        ui.navigate.to(f"/compare?one={number}&other={job}")
    except InputError as error:
        form.point(fields, error)
    except SaggerError as error:
        frame.refused(error)
