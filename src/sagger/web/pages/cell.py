"""The cell: orders with date and risk, the week, a day's sheet; booked, planned, fixed and promised here."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from functools import partial
from typing import NamedTuple

from markupsafe import Markup
from nicegui import ui

from sagger.desk.planning import cell, cell_runs, cell_sheets
from sagger.errors import SaggerError
from sagger.goods.cell_run import AskedCellRun, CellRun
from sagger.ledger.cellbook import NOTHING, CellBook
from sagger.ledger.lots import Mover
from sagger.web import actions, cell_forms, widgets
from sagger.web.base_page import page
from sagger.web.rows import cell as rows

EVERY_S = 1.0
Key = tuple[int, CellRun | None]  # what the page shows: last entry of the book, and the plan being made


def register() -> None:
    ui.page("/cell")(_page)


def _page() -> None:
    with page("Cell", wide=True):
        CellPage().build()


class CellPage:
    """What one browser looks at, and the places on the page that follow the book."""

    def __init__(self) -> None:
        self.book = NOTHING  # until it is read, beside the page
        self.monday = cell_sheets.monday(cell.now())
        self.shown: Key | None = None
        self.listed: tuple[int, list[StatedBuild]] | None = None  # builds whose rows stand
        self.forms: list[cell_forms.CellForm] = []

    def build(self) -> None:
        """Lay the page out and go on showing how the book stands."""
        self._next()
        widgets.html("<h2>Orders of the book</h2>")
        self.orders = widgets.html("<p>reading the book …</p>")
        self.forms = cell_forms.build(self.refresh)
        self.planned = ui.element("div")
        with self.planned:
            self._week()
            self._day()
        widgets.html("<h2>Promises</h2>")
        self.promises = widgets.html("")
        self.planned.set_visibility(False)
        self._show_run(None)
        ui.timer(EVERY_S, self.refresh)

    async def refresh(self) -> None:
        """Show what changed."""
        now: Key = await asyncio.to_thread(_key)
        if self.shown is not None and now[0] == self.shown[0]:
            if now[1] != self.shown[1]:
                self.shown = now
                self._show_run(now[1])
            return
        before, self.book = self.book.plan, await asyncio.to_thread(cell.book)
        if before is None and self.book.plan is not None:
            self.monday, self.date.value = cell_sheets.monday(self.book.plan.now), self._first_day()
        await self.show()

    async def show(self) -> None:
        """Show the book as it is held here, all at once: no button stays that belongs to an older plan."""
        self.shown = await asyncio.to_thread(_key)
        try:
            drawn = await asyncio.to_thread(_drawn, self.book, self.monday, str(self.date.value or ""))
            self._show(drawn)
        except SaggerError as error:
            widgets.refuse(error)

    def _show(self, drawn: DrawnPlan | None) -> None:
        book, plan = self.book, self.book.plan
        self.head.content = str(rows.head(book, cell.card(plan.stand).currency if plan else ""))
        self.orders.content = str(rows.orders(book))
        self.promises.content = str(rows.promises(book.promises, cell.scores(book), plan))
        self.planned.set_visibility(plan is not None)
        self._show_run(self.shown[1] if self.shown else None)
        for form in self.forms:
            form.follow(book)
        if drawn is not None:
            self._show_week(drawn)
            self.sheet.content = str(drawn.day)

    def _next(self) -> None:
        with ui.element("section").classes("next").props('aria-label="Plan"'):
            self.head = widgets.html("")
            self.run = widgets.html("").props('role="status" aria-live="polite"')
            self.under_way = ui.element("div").classes("acts")
            with self.under_way:
                widgets.button("Stop", partial(self._tell, cell_runs.stop), may="plan")
                self.enough = widgets.button(
                    "Take the best so far", partial(self._tell, cell_runs.enough), may="plan"
                )
            self.idle = ui.element("div").classes("acts")
            with self.idle:
                self.person = widgets.person_field("planned by")
                self.at = widgets.text_field("plan from (empty = now)").props("type=datetime-local")
                widgets.button("Plan anew", partial(self._plan, False), may="plan", solid=True)
                widgets.button("Look for a better plan (minutes)", partial(self._plan, True), may="plan")

    def _show_run(self, now: CellRun | None) -> None:
        self.run.content = str(rows.run(now))
        running = now is not None and now.state == "running"
        self.under_way.set_visibility(running)
        self.enough.set_visibility(running and now is not None and now.improving)
        self.idle.set_visibility(not running)

    async def _plan(self, better: bool) -> None:
        at = widgets.stripped(self.at)

        def begin(person: str) -> CellRun:
            return cell_runs.begin(AskedCellRun(person=person, note="", at=at, better=better))

        await actions.run_as("plan", self.person, begin)
        await self.refresh()

    async def _tell(self, deed: Callable[[], None]) -> None:
        await actions.run("plan", deed)
        await self.refresh()

    def _week(self) -> None:
        widgets.html("<h2>The week</h2>")
        with ui.element("div").classes("acts"):
            widgets.button("Previous week", partial(self._turn, -1), may="look")
            widgets.button("Next week", partial(self._turn, 1), may="look")
        self.week = widgets.html("").classes("week").props('tabindex="0" role="region" aria-label="Week"')
        with ui.expansion("Builds of this week, to fix or free").classes("more"):
            self.fixer = widgets.person_field("fixed or freed by")
            self.builds = ui.element("div").classes("scroll")

    async def _turn(self, weeks: int) -> None:
        self.monday = cell_sheets.monday(self.monday, weeks)
        await self.show()

    def _show_week(self, drawn: DrawnPlan) -> None:
        self.week.content = str(drawn.week)
        if (self.book.entry, drawn.builds) == self.listed:
            return
        self.listed = (self.book.entry, drawn.builds)
        self.builds.clear()
        with self.builds:
            self._builds(drawn.builds)

    def _builds(self, builds: list[StatedBuild]) -> None:
        """A table whose rows end with a button."""
        if not builds:
            widgets.html("<p>No build is in the cell in this week.</p>")
            return
        with ui.element("table").classes("builds").props('aria-label="Builds of the week"'):
            with ui.element("thead"), ui.element("tr"):
                for name in (*rows.BUILDS, "Change"):
                    _cell("th", name, 'scope="col"')
            with ui.element("tbody"):
                for build in builds:
                    self._build(build)

    def _build(self, build: StatedBuild) -> None:
        name, *words = build.cells
        state = build.state
        with ui.element("tr"):
            _cell("th", name, 'scope="row"')
            for word in words:
                _cell("td", word)
            _cell("td", rows.state_of_build(state))
            with ui.element("td"):
                kind = {"free": "fixed", "fixed": "freed"}.get(state)
                if kind:
                    word = {"fixed": "Fix", "freed": "Free"}[kind]
                    button = widgets.button(word, partial(self._fix, kind, name), may="plan")
                    button.props["aria-label"] = f"{word} {name}"

    async def _fix(self, kind: str, name: str) -> None:
        seen, at = self.book.entry, cell.now()

        def enter(person: str) -> str:
            return cell.event(kind, name, at, "", Mover(person=person, once=True), seen)

        words = await actions.run_as("plan", self.fixer, enter)
        if words:
            widgets.notify(words)
        await self.refresh()

    def _day(self) -> None:
        widgets.html("<h2>A day, station by station</h2>")
        self.date = widgets.text_field("day", self._first_day()).props("type=date")
        self.date.on_value_change(self.show)
        self.sheet = widgets.html("")

    def _first_day(self) -> str:
        return (self.book.plan.now if self.book.plan else cell.now())[:10]


class StatedBuild(NamedTuple):
    """A build of the week in words, and its state."""

    cells: tuple[str, ...]
    state: str


class DrawnPlan(NamedTuple):
    """What takes a while to be drawn of a plan."""

    week: Markup
    builds: list[StatedBuild]
    day: Markup


def _drawn(book: CellBook, monday: str, date: str) -> DrawnPlan | None:
    """The plan of a book drawn; None if there is none."""
    if book.plan is None:
        return None
    now, picture = cell.now(), cell_sheets.week_picture(monday)
    builds = [
        StatedBuild(rows.build_cells(row), rows.build_state(row, book, now))
        for row in rows.builds_of(book.plan, monday)
    ]
    sheet = cell_sheets.day_sheet(date or monday)
    stations, people = cell_sheets.row_names(book.plan), cell_sheets.people()
    day = rows.day(sheet, stations) + rows.papers(sheet.day, len(sheet.tasks)) + rows.calendars(people)
    return DrawnPlan(rows.week(picture, monday, fixed=bool(book.fixed())), builds, day)


def _cell(tag: str, words: object, props: str = "") -> None:
    with ui.element(tag).props(props):
        ui.html(str(rows.text(words)), sanitize=False, tag="span")


def _key() -> Key:
    return cell_sheets.changed(), cell_runs.newest()
