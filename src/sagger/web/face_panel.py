"""A part's picture whose faces are clicked, and the lines of the order that are taken from them."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

from markupsafe import Markup
from nicegui import context, ui

from sagger.desk.pictures import faces, sources, workers
from sagger.desk.pictures.faces import PartSource
from sagger.desk.planning import stated_lines
from sagger.errors import InputError, SaggerError
from sagger.goods.picked import DrawnHere, Picked
from sagger.goods.plain import Table, restored, text
from sagger.web import events, handles, markup, session, widgets
from sagger.web.elements.part import PartForm, PartView
from sagger.web.rows import faces as rows

# A row is chosen by its button, by a click anywhere in it, or by the pointer over it.
ROW = """(event) => {
  const row = event.target.closest("tr"), button = row && row.querySelector("[data-line]");
  if (!button) return;
  for (const other of row.parentElement.children) other.classList.toggle("chosen", other === row);
  emit(Number(button.dataset.line));
}"""


class ClickedPart(NamedTuple):
    """A part of an order whose faces may be clicked."""

    source: Callable[[], PartSource]  # as the form says it now
    row: Callable[[], Table]  # the [[part]] table as the form says it now
    at: Path  # where its lines are kept
    number: int  # which part of the order, for its colour
    needs_unit: bool  # whether the file carries none
    findings: tuple[Table, ...] = ()
    named: str = ""  # heading of the findings; "" = they are not shown


class FacePanel:
    """The picture, what was chosen in it, and the lines that were taken."""

    def __init__(self, part: ClickedPart, shown: PartForm):
        self.part, self.triangles = part, list[int]()
        self.chosen = Picked(faces=(), questions=())
        self.drawn = DrawnHere(rows=(), facets=())
        self.view = PartView(shown, part.findings, part.number, part.named)
        self.view.hear(self.pick, may="look")
        with self.view:
            self.words = widgets.html(_words(self.chosen))
            self.question = widgets.choice([], None, "What is asked")
            self.limit = widgets.text_field("Limit")
            self.name = widgets.text_field("Name (on papers, if you like)")
            with ui.element("div").classes("acts"):
                widgets.button("Take into the order", self.take, may="plan", solid=True)
            self.list = ui.element("div").props('aria-live="polite"')
        self.table = ui.element("div").classes("drawn-rows")
        events.on(self.table, "click", self.show_line, may="look", js_handler=ROW)
        events.on(self.table, "mouseover", self.show_line, may="look", js_handler=ROW)
        self.question.on_value_change(lambda _: self._hint())
        self._hint()

    async def pick(self, triangle: int, second: bool) -> None:
        """A face was clicked: it is looked up, shown and described."""
        before = self.triangles[:1] if second else []
        self.triangles = [] if triangle < 0 else [*before, triangle]
        try:
            picked = (
                await self._ask(tuple(self.triangles)) if self.triangles else Picked(faces=(), questions=())
            )
        except SaggerError as error:
            widgets.refuse(error)
            return
        self.chosen = picked
        self.words.content = str(_words(picked))
        self.question.set_options(list(picked.questions), value=next(iter(picked.questions), None))
        self.limit.props(remove="error error-message")
        self.view.light([face.runs for face in picked.faces])

    async def take(self) -> None:
        """The line that the fields say, as the order file would have it; refusals stand at the limit."""
        try:
            session.require("plan")
            line = self._line()
            lines = rows.added(self.lines(), self.chosen.faces, line)
            await self._drawn(lines)
        except InputError as error:
            self._refuse(error)
            return
        self._keep(lines)
        self.limit.value, self.name.value = "", ""
        self.limit.props(remove="error error-message")

    async def take_out(self, place: int) -> None:
        """One line is gone."""
        try:
            session.require("plan")
            lines = rows.without(self.lines(), place)
            await self._drawn(lines)
        except InputError as error:
            widgets.refuse(error)
            return
        self._keep(lines)

    async def begin(self) -> None:
        """Show the lines that there are."""
        try:
            await self._drawn(self.lines())
        except InputError as error:
            widgets.refuse(error)
        self._show()

    def lines(self) -> Table:
        """The lines of the part as they are kept, else as the order has them."""
        row = self.part.row()
        kept = stated_lines.kept(self.part.at, text(row, "file"), text(row, "body"))
        return kept if kept is not None else {key: row[key] for key in stated_lines.KEYS if key in row}

    def show_line(self, number: object) -> None:
        """The faces of a line of the drawing stand out."""
        if isinstance(number, int) and 1 <= number <= len(self.drawn.facets):
            self.view.light([self.drawn.facets[number - 1]])

    def _line(self) -> Table:
        if not self.chosen.questions or not self.question.value:
            why = next((face.why for face in self.chosen.faces if face.why), "")
            wrong = "no face is chosen that something can be asked of"
            raise InputError(wrong, remedy=why or rows.NOTHING_ASKED)
        if not self.part.row():
            wrong = "this order takes every body of the file by one line"
            raise InputError(wrong, remedy="Bring the file as a new order, its bodies as parts of their own.")
        if self.part.needs_unit and not self.part.source().unit:
            wrong = "the file does not say its unit"
            raise InputError(wrong, field="unit", remedy="Choose the unit of this part first.")
        fields = {"what": self.question, "limit": self.limit, "name": self.name}
        return {name: widgets.stripped(field) for name, field in fields.items()}

    async def _ask(self, triangles: tuple[int, ...]) -> Picked:
        told = await workers.ask("faces", faces.picked, self.part.source(), triangles)
        return restored(Picked, json.loads(told))

    async def _drawn(self, lines: Table) -> None:
        row = rows.part_row(self.part.row(), lines)
        told = await workers.ask("faces", faces.lines, self.part.source(), row, "order.toml")
        self.drawn = restored(DrawnHere, json.loads(told))

    def _keep(self, lines: Table) -> None:
        row = self.part.row()
        stated_lines.keep(self.part.at, text(row, "file"), text(row, "body"), lines)
        self._show()

    def _show(self) -> None:
        self.list.clear()
        with self.list:
            _list(self)
        self.table.clear()
        with self.table:
            widgets.html(rows.table(self.drawn))

    def _hint(self) -> None:
        asked = str(self.question.value or "")
        self.limit.props["hint"] = rows.hint(asked) if asked else ""
        self.limit.update()

    def _refuse(self, error: InputError) -> None:
        self.limit.props["error"], self.limit.props["error-message"] = True, rows.refusal(error)
        self.limit.update()
        self.limit.run_method("focus")


async def opened(part: ClickedPart) -> FacePanel | None:
    """The panel of a part, built where the caller stands; None, with a refusal, if it cannot be read."""
    source = part.source()
    try:
        facts = json.loads(await workers.ask("faces", faces.size, source))
    except SaggerError as error:
        widgets.refuse(error)
        return None
    handle = handles.give(session.person().name, source)
    context.client.on_delete(lambda: handles.drop(handle))
    url = f"/api/drawn/{handle}/form/MOST.bin"
    ends = {name: tuple(facts[name]) for name in ("low", "high")}
    panel = FacePanel(part, PartForm(url=url, triangles=facts["triangles"], rungs=sources.RUNGS, **ends))
    await panel.begin()
    return panel


def _list(panel: FacePanel) -> None:
    """The lines that were taken, each with a button that takes it out."""
    words = rows.listed(panel.lines())
    widgets.html(f"<h3>Lines of this part ({len(words)})</h3>")
    with ui.element("ul").classes("lines"):
        for place, line in enumerate(words):
            with ui.element("li"):
                widgets.html(markup.safe(line))

                async def out(at: int = place) -> None:
                    await panel.take_out(at)

                widgets.button(f"Take out line {place + 1}", out, may="plan")


def _words(chosen: Picked) -> Markup:
    if not chosen.faces:
        return Markup('<p class="small">{}</p>').format(rows.NOTHING_ASKED)
    names = ("first face", "second face")
    block = Markup('<p class="chosen-face {}"><b>{}</b>: {}{}</p>')
    return Markup("").join(
        block.format(
            "second" if place else "", names[place], _unbroken(face.words), _why(face.why, face.words)
        )
        for place, face in enumerate(chosen.faces)
    )


def _unbroken(words: str) -> str:
    """Words whose numbers are not parted at the end of a line."""
    return re.sub(r"(?<=\d) (?=\d{3}\b)", "\u00a0", words)


def _why(why: str, words: str) -> Markup:
    return Markup(" <em>{}</em>").format(why) if why and why != words else Markup("")
