"""Editing one programme: its curve, the fields in step with it, and what it does, anew after each change."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Callable
from functools import partial

from markupsafe import Markup
from nicegui import ui
from pydantic import BaseModel

from sagger.desk.pictures import tried, workers
from sagger.desk.pictures.tried import TriedRun
from sagger.errors import InputError, SaggerError
from sagger.files.order_form import FurnaceStretch, OvenStretch
from sagger.goods.good import good
from sagger.goods.plain import Table, text
from sagger.views.charts import programme
from sagger.views.charts.screen import Heating
from sagger.web import events, order_form, widgets
from sagger.web.elements.curve import HeatingCurve
from sagger.web.order_form import Fields
from sagger.web.rows import order_fields
from sagger.web.rows import programmes as rows
from sagger.web.rows.programmes import FURNACE, NEW, OVEN, POINT, Heat
from sagger.web.widgets import Change, Field

PAUSE_S = 0.3  # after the last change, before it is worked out
MODELS: dict[str, type[BaseModel]] = {OVEN: OvenStretch, FURNACE: FurnaceStretch}
Tables = Callable[[], Table]  # of the order as all editors of the page say it now


@good
class EditorParts:
    """The places on the page that follow a programme."""

    curve: HeatingCurve
    facts: ui.html
    notes: ui.html
    stretches: ui.element


class Editor:
    """The stretches as they are written now, and the elements that show them."""

    def __init__(self, job: int, heat: Heat, fields: Fields, tables: Tables, *, fixed: bool):
        self.heat, self.rows, self.point = heat, [dict(row) for row in heat.rows], heat.point
        self.tables = tables
        self._job, self._fields, self._fixed, self._turn = job, fields, fixed, 0
        self._outcome: TriedRun | None = None  # of the last try
        self._parts = self._layout()
        self._draw(None)
        self._build()

    def undo(self) -> None:
        """Back to what was planned."""
        self._turn += 1
        self.rows[:] = [dict(row) for row in self.heat.rows]
        self.point = self.heat.point
        self._draw(None)
        self._build()

    def _layout(self) -> EditorParts:
        heat = self.heat
        with ui.element("section").classes("heating").props(f'aria-label="{heat.name}"'):
            widgets.html(Markup("<h2>{}</h2>").format(heat.name))
            with ui.element("div").classes("heated"):
                curve = HeatingCurve(
                    f"{heat.name}: temperature over hours",
                    self._heating(),
                    fixed=self._fixed,
                    on_moved=self._moved,
                    on_released=self._try,
                )
                with ui.element("div"):
                    facts = widgets.html("")
                    notes = widgets.html("").props('role="status" aria-live="polite"')
            return EditorParts(curve=curve, facts=facts, notes=notes, stretches=ui.element("div"))

    def _draw(self, outcome: TriedRun | None) -> None:
        """Show what came of a try, or what was planned."""
        self._outcome = outcome
        self._follow()
        self._parts.facts.content = str(rows.facts(self.heat, outcome.run if outcome else None))
        self._parts.notes.content = "" if outcome is None else str(rows.findings(outcome.findings))

    def _heating(self) -> Heating:
        return rows.heating(self.heat, self.rows, self.point, self._outcome.run if self._outcome else None)

    def _follow(self, *, busy: bool = False) -> None:
        """The curve shows what the fields say."""
        self._parts.curve.show(self._heating(), busy=busy)

    def _moved(self, row: dict[str, float]) -> None:
        """The fields show what the curve says."""
        place = int(row["place"])
        if self._fixed or place >= len(self.rows):
            return
        if place < 0:
            self.point = f"{row['target']:g} degC"
            self._fields[POINT].value = self.point
            return
        for key, words in programme.written(row).items():
            if self.rows[place].get(key) != words:
                self.rows[place][key] = words
                self._fields[f"[[{self.heat.key}]] {place + 1}, {key}"].value = words

    async def _try(self) -> None:
        """Work out what it does now, unless something newer comes meanwhile."""
        self._turn += 1
        turn = self._turn
        self._follow()
        await asyncio.sleep(PAUSE_S)
        if turn != self._turn:
            return
        order_form.clear(self._fields)
        self._follow(busy=True)
        self._parts.notes.content = "<p>working out what this does …</p>"
        try:
            outcome = tried.read(await self._ask(json.dumps(self.tables())))
        except SaggerError as error:
            if turn == self._turn:
                self._refuse(error)
            return
        if turn == self._turn:
            self._draw(outcome)

    async def _ask(self, tables: str) -> bytes:
        if self.heat.box is None:
            return await workers.ask("tries", tried.furnace_tried, self._job, tables)
        return await workers.ask("tries", tried.oven_tried, self._job, tables, self.heat.box)

    def _refuse(self, error: SaggerError) -> None:
        self._parts.notes.content = str(Markup('<p class="said">{}</p>').format(str(error)))
        if isinstance(error, InputError):
            order_form.mark(self._fields, error)

    def _build(self) -> None:
        """A row of fields for each stretch."""
        self._parts.stretches.clear()
        for place in [name for name in self._fields if name.startswith(f"[[{self.heat.key}]]")]:
            del self._fields[place]
        if not self._fixed:
            with self._parts.stretches:
                for number, row in enumerate(self.rows, 1):
                    self._stretch(number, row)
                if self.point:
                    self._set_point()
                widgets.button("Add a stretch", self._add, may="look")
        self._follow()

    def _set_point(self) -> None:
        def heard(event: Change) -> None:
            if self.point != event.value:  # the curve moved the field
                self.point = event.value
                self._follow()

        field = ui.input("set point, held until the last piece is cured", value=self.point)
        self._fields[POINT] = field.props(widgets.FIELD)
        field.on_value_change(heard)
        events.on(field, "blur", lambda sent: self._try(), may="look")

    def _stretch(self, number: int, row: Table) -> None:
        with ui.element("div").classes("stretch").props(f'role="group" aria-label="stretch {number}"'):
            for key in NEW[self.heat.key]:
                self._fields[f"[[{self.heat.key}]] {number}, {key}"] = self._field(row, key)
            widgets.button("Take out", partial(self._take_out, row), may="look")

    def _field(self, row: Table, key: str) -> Field:
        def heard(event: Change) -> None:
            if row.get(key) != event.value:
                row[key] = event.value
                self._follow()

        words = order_fields.words(MODELS[self.heat.key], key)
        if words:
            field = widgets.choice(list(words), row.get(key), key)
            return field.on_value_change(heard).on_value_change(self._try)
        made = ui.input(key, value=text(row, key), on_change=heard).props(widgets.FIELD)
        events.on(made, "blur", lambda sent: self._try(), may="look")
        return made

    async def _take_out(self, row: Table) -> None:
        self.rows.remove(row)
        self._build()
        await self._try()

    async def _add(self) -> None:
        self.rows.append(dict(self.rows[-1] if self.rows else NEW[self.heat.key]))
        self._build()
        await self._try()
