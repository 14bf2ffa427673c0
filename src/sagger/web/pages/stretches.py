"""Editing one programme: its curve, the fields in step with it, and what it does, anew after each change."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Callable
from functools import partial
from typing import Any

from markupsafe import Markup
from nicegui import ui
from pydantic import BaseModel

from sagger import units
from sagger.desk import painter
from sagger.errors import InputError, SaggerError
from sagger.files.order_form import FurnaceStretch, OvenStretch
from sagger.goods.good import good
from sagger.views import programme
from sagger.web import blocks, form, frame
from sagger.web.elements.curve import Curve

Rows = list[dict[str, Any]]
PAUSE_S = 0.3  # after the last change, before it is worked out
MODELS: dict[str, type[BaseModel]] = {"oven_programme": OvenStretch, "furnace_programme": FurnaceStretch}
KEYS = {
    "oven_programme": ("rate", "target", "hold"),
    "furnace_programme": ("stage", "rate", "target", "hold", "atmosphere"),
}
NEW: dict[str, dict[str, Any]] = {
    "oven_programme": {"rate": "2 K/min", "target": "120 degC", "hold": "30 min"},
    "furnace_programme": {"rate": "5 K/min", "target": "1000 degC", "hold": "30 min", "stage": "sintering"}
    | {"atmosphere": "hydrogen"},
}


@good
class Heat:
    """One oven or furnace as it was planned."""

    key: str  # oven_programme or furnace_programme
    rows: Rows  # as an order file writes them
    start: float  # temperature at the beginning [°C]
    most: float  # highest temperature [°C]; 0 = unknown
    limit: str  # what stands there
    point: str  # set point held after the stretches, with unit; "" = there is none
    rise: float  # rate towards the set point [K/min]
    drawn: Callable[[dict[str, Any] | None], Any]  # lines, strips and facts of what was tried; None = planned
    what: str  # function of `desk.paint` that tries it
    given: tuple[int, ...]  # job, and box


@good
class _Parts:
    curve: Curve
    facts: ui.html
    told: ui.html
    area: ui.element


class Editor:
    """The stretches as they are written now, and the elements that show them."""

    def __init__(
        self, name: str, heat: Heat, fields: form.Fields, said: Callable[[], dict[str, Any]], *, open_: bool
    ):
        self.heat, self.rows, self.point = heat, [dict(row) for row in heat.rows], heat.point
        self._fields, self._said, self._turn = fields, said, 0
        limit = (heat.most, heat.limit)
        with ui.element("section").classes("heating").props(f'aria-label="{name}"'):
            frame.show(Markup("<h2>{}</h2>").format(name))
            with ui.element("div").classes("heated"):
                curve = Curve(
                    f"{name}: temperature over hours",
                    heat.start,
                    limit,
                    fixed=not open_,
                    on_moved=self._moved,
                    on_released=self._try,
                )
                with ui.element("div"):
                    facts = frame.show("")
                    told = ui.html("", sanitize=False).props('role="status" aria-live="polite"')
            area = ui.element("div")
        self._shown = _Parts(curve=curve, facts=facts, told=told, area=area)
        self._open = open_
        self._draw(None)
        self._build()

    def changed(self) -> bool:
        """Whether the stretches differ from those that were planned."""
        return self.rows != self.heat.rows

    def undo(self) -> None:
        """Back to what was planned."""
        self._turn += 1
        self.rows[:] = [dict(row) for row in self.heat.rows]
        self.point = self.heat.point
        self._draw(None)
        self._build()

    def _draw(self, now: dict[str, Any] | None) -> None:
        top, strips, facts = self.heat.drawn(now)
        self._shown.curve.drawn(top, strips)
        self._shown.facts.content = str(facts)
        self._shown.told.content = "" if now is None else str(_findings(now["findings"]))

    def _follow(self) -> None:
        """The curve shows what the fields say."""
        held = None
        if self.point:
            try:
                target = units.into(units.read(self.point, "temperature"), "degC")
                held = {"rate": self.heat.rise, "target": float(f"{target:.8g}")}
            except InputError:
                held = None
        self._shown.curve.rows(programme.stretches(self.rows), held)

    def _moved(self, row: dict[str, float]) -> None:
        """The fields show what the curve says."""
        place = int(row["place"])
        if place < 0:
            self.point = f"{row['target']:g} degC"
            self._fields["[choices], oven"].value = self.point
            return
        for key, text in programme.written(row).items():
            if self.rows[place].get(key) != text:
                self.rows[place][key] = text
                self._fields[f"[[{self.heat.key}]] {place + 1}, {key}"].value = text

    async def _try(self) -> None:
        """Work out what it does now, unless something newer comes meanwhile."""
        self._turn += 1
        turn = self._turn
        self._follow()
        await asyncio.sleep(PAUSE_S)
        if turn != self._turn:
            return
        form.clear(self._fields)
        self._shown.curve.busy()
        self._shown.told.content = "<p>working out what this does …</p>"
        job, *box = self.heat.given
        try:
            made = await painter.ask(painter.TRIES, self.heat.what, job, json.dumps(self._said()), *box)
        except SaggerError as error:
            if turn == self._turn:
                self._shown.told.content = str(Markup('<p class="said">{}</p>').format(str(error)))
                if isinstance(error, InputError):
                    form.mark(self._fields, error)
            return
        if turn == self._turn:
            self._draw(json.loads(made))

    def _build(self) -> None:
        """A row of fields for each stretch."""
        key = self.heat.key
        self._shown.area.clear()
        for gone in [each for each in self._fields if each.startswith(f"[[{key}]]")]:
            del self._fields[gone]
        if self._open:
            with self._shown.area:
                for place, row in enumerate(self.rows, 1):
                    self._row(place, row)
                if self.point:
                    field = ui.input("set point, held until the last piece is cured", value=self.point)
                    self._fields["[choices], oven"] = field.props(frame.LOOK)
                    field.on_value_change(self._pointed).on("blur", self._try)
                frame.button("Add a stretch", self._add)
        self._follow()

    def _pointed(self, event: Any) -> None:
        self.point = event.value
        self._follow()

    def _row(self, place: int, row: dict[str, Any]) -> None:
        with ui.element("div").classes("stretch").props(f'role="group" aria-label="stretch {place}"'):
            for key in KEYS[self.heat.key]:

                def heard(event: Any, key: str = key) -> None:
                    if row.get(key) != event.value:
                        row[key] = event.value
                        self._follow()

                words = form.words(MODELS[self.heat.key], key)
                if words:
                    made: Any = ui.select(list(words), value=row.get(key), label=key, on_change=heard)
                    made.on_value_change(self._try)
                else:
                    made = ui.input(key, value=row.get(key, ""), on_change=heard).on("blur", self._try)
                self._fields[f"[[{self.heat.key}]] {place}, {key}"] = made.props(frame.LOOK)
            frame.button("Take out", partial(self._take_out, row))

    async def _take_out(self, row: dict[str, Any]) -> None:
        self.rows.remove(row)
        self._build()
        await self._try()

    async def _add(self) -> None:
        self.rows.append(dict(self.rows[-1] if self.rows else NEW[self.heat.key]))
        self._build()
        await self._try()


def _findings(found: list[dict[str, Any]]) -> Markup:
    form_ = '<div class="found {}"><p><strong>{}</strong>: {} {}</p></div>'
    return Markup("").join(
        Markup(form_).format(
            each["level"], each["what"], blocks.coded(each["text"]), blocks.coded(each["remedy"])
        )
        for each in found
    )
