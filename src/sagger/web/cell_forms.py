"""What is entered of the cell: orders, what happened, promises; and what a new order would get."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Awaitable, Callable
from functools import partial

from nicegui import ui

from sagger.desk import uploads
from sagger.desk.pictures import tried, workers
from sagger.desk.planning import cell
from sagger.desk.planning.cell_events import subjects
from sagger.errors import InputError, SaggerError
from sagger.ledger.cellbook import NOTHING, CellBook
from sagger.ledger.lots import Mover
from sagger.web import actions, session, widgets
from sagger.web.elements.upload import FilesTaken, Upload
from sagger.web.rows import cell as rows

COLUMNS = "one line for each build: order, powder, box, print_h, hands_h, shelves, due"
Refresh = Callable[[], Awaitable[None]]  # shows the page anew


class CellForm(ABC):
    """A form that offers what the book holds."""

    @abstractmethod
    def follow(self, book: CellBook) -> None:
        """The book holds something else by now."""


def build(refresh: Refresh) -> list[CellForm]:
    """All forms, each folded away; those that offer what the book holds."""
    draft = uploads.begin()
    with ui.expansion("Book orders from a table").classes("more"):
        _table(draft, refresh)
    with ui.expansion("Book the order of a planned job").classes("more"):
        _job(refresh)
    with ui.expansion("Say what happened").classes("more"):
        happened = HappenedForm(refresh)
    with ui.expansion("Ask what a new order would get").classes("more"):
        _offer(uploads.begin())
    with ui.expansion("Promise a date").classes("more"):
        promised = PromiseForm(refresh)
    return [happened, promised]


def _table(draft: str, refresh: Refresh) -> None:
    person = widgets.person_field("booked by")

    async def uploaded(name: str) -> None:
        def book(who: str) -> str:
            return cell.book_table(uploads.held(draft, name), Mover(person=who, note=name))

        await _booked("plan", person, book, refresh)

    Upload(
        f"/api/uploads/{draft}/",
        f"Drop a table of orders here, CSV, {COLUMNS}.",
        FilesTaken((".csv",), uploads.MOST_BYTES),
        on_uploaded=uploaded,
        on_refused=widgets.refuse,
    )


def _job(refresh: Refresh) -> None:
    with ui.element("div").classes("fields"):
        job = widgets.text_field("number of the job")
        due = widgets.text_field("due").props("type=datetime-local")
        weight = widgets.text_field("weight (2 counts lateness twice)", "1")
        person = widgets.person_field("booked by")

    def book(who: str) -> str:
        number, counts = _whole("job", job.value), _whole("weight", weight.value)
        stand = cell.accepted().stand if cell.book().plan else cell.USUAL
        return cell.book_job(number, widgets.stripped(due), counts, stand, Mover(person=who))

    widgets.button("Book the job", partial(_booked, "plan", person, book, refresh), may="plan")


class HappenedForm(CellForm):
    """What happened, to which build, machine or order."""

    def __init__(self, refresh: Refresh):
        self._book = NOTHING
        with ui.element("div").classes("fields"):
            self._kind = widgets.choice(rows.HAPPENED, "ended", "what happened")
            self._kind.on_value_change(lambda change: self._offer_subjects())
            self._subject = widgets.choice([], None, "to which")
            self._at = widgets.text_field("when (empty = now)").props("type=datetime-local")
            self._until = widgets.text_field("until (of a machine that is down)").props("type=datetime-local")
            self._person, self._note = widgets.person_field("entered by"), widgets.text_field("note")
        widgets.button("Enter it", partial(_booked, "plan", self._person, self._enter, refresh), may="plan")

    def follow(self, book: CellBook) -> None:
        self._book = book
        self._offer_subjects()

    def _offer_subjects(self) -> None:
        kind = str(self._kind.value)
        names = rows.open_subjects(subjects(self._book, kind), kind, self._book)
        kept_value = self._subject.value if self._subject.value in names else None
        self._subject.set_options(names, value=kept_value or (names[0] if names else None))
        self._until.set_visibility(kind == "down")

    def _enter(self, who: str) -> str:
        step = Mover(person=who, note=widgets.stripped(self._note), once=True)
        at, until = widgets.stripped(self._at) or cell.now(), widgets.stripped(self._until)
        kind = str(self._kind.value)
        return cell.event(kind, str(self._subject.value), at, until if kind == "down" else "", step)


class PromiseForm(CellForm):
    """A date that a customer is told; later plans hold to it."""

    def __init__(self, refresh: Refresh):
        widgets.html("<p>A promised date takes the place of the due date in every later plan.</p>")
        with ui.element("div").classes("fields"):
            self._order = widgets.choice([], None, "order")
            self._by = widgets.text_field("promised by").props("type=datetime-local")
            self._person, self._note = widgets.person_field("told by"), widgets.text_field("note")
        act = partial(_booked, "approve", self._person, self._give, refresh)
        widgets.button("Promise it", act, may="approve")

    def follow(self, book: CellBook) -> None:
        names = [order.name for order in book.open_orders()]
        kept_value = self._order.value if self._order.value in names else None
        self._order.set_options(names, value=kept_value or (names[0] if names else None))

    def _give(self, who: str) -> str:
        step = Mover(person=who, note=widgets.stripped(self._note), once=True)
        return cell.promise(str(self._order.value), widgets.stripped(self._by), "", step)


def _offer(draft: str) -> None:
    widgets.html("<p>Nothing is booked by it.</p>")
    at = widgets.text_field("as of (empty = now)").props("type=datetime-local")
    shown = widgets.html("").props('role="status" aria-live="polite"')

    async def uploaded(name: str) -> None:
        shown.content = "<p>looking for ways to take it in …</p>"
        try:
            session.require("plan")
            words = await workers.ask("tries", tried.cell_offered, draft, name, widgets.stripped(at))
        except SaggerError as error:
            shown.content = ""
            widgets.refuse(error)
            return
        shown.content = str(rows.offer(tried.cell_offer(words)))

    Upload(
        f"/api/uploads/{draft}/",
        f"Drop a table with the one new order here, CSV, {COLUMNS}.",
        FilesTaken((".csv",), uploads.MOST_BYTES),
        on_uploaded=uploaded,
        on_refused=widgets.refuse,
    )


async def _booked(
    role: str, person: widgets.PersonField, deed: Callable[[str], str], refresh: Refresh
) -> None:
    """Book something in the name of a person, say so, and show the page anew."""
    words = await actions.run_as(role, person, deed)
    if words:
        widgets.notify(words)
    await refresh()


def _whole(field: str, value: object) -> int:
    try:
        return int(str(value or ""))
    except ValueError:
        raise InputError("a whole number is needed", field=field, value=value or "") from None
