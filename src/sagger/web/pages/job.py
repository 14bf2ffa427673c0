"""One job as a route from part file to price, and the one thing that needs a decision next."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from markupsafe import Markup
from nicegui import ui

from sagger.desk.measuring import approvals, certifying
from sagger.desk.pictures import render, workers
from sagger.desk.planning import bundle, history, offers, runs
from sagger.errors import SaggerError
from sagger.goods.good import good
from sagger.goods.record import JobRecord
from sagger.views.words.decide import Decision, decision
from sagger.views.words.route import route
from sagger.web import actions, session, widgets
from sagger.web.base_page import page
from sagger.web.rows import job as rows
from sagger.web.rows.job import ComparedJob

EVERY_S = 0.5


@good
class JobParts:
    """The places on the page that follow the job."""

    next_box: ui.element
    words: ui.element
    height: ui.html
    acts: ui.element
    route: ui.html
    side: ui.html


def register() -> None:
    ui.page("/job/{number}")(_page)


def _page(number: int) -> None:
    try:
        row, version = history.facts(number), history.version(number)
    except SaggerError as error:
        with page("No such job"):
            ui.label(str(error))
        return
    with page(rows.title(row, version), wide=True, legend=True):
        _follow(number, _layout())


def _layout() -> JobParts:
    with ui.element("div").classes("two"):
        with ui.element("div"):
            with ui.element("section").classes("next").props('aria-label="Next"') as next_box:
                words = ui.element("div").props('aria-live="polite"')
                height = widgets.html("")
                acts = ui.element("div").classes("acts")
            route_of_job = widgets.html("")
        with ui.element("aside"):
            side = widgets.html("")
    return JobParts(next_box=next_box, words=words, height=height, acts=acts, route=route_of_job, side=side)


def _follow(number: int, parts: JobParts) -> None:
    """Show how the job stands, now and whenever that changes."""
    before: list[object] = []

    def refresh() -> None:
        row, plan = history.facts(number), history.plan(number)
        approval = approvals.approvals().get(number)
        parts.route.content = str(rows.route(number, route(row, history.nested(number), plan), plan))
        parts.height.content = str(rows.height(row))
        now = [row.state, row.improving, approval]
        if now != before:
            before[:] = now
            parts.side.content = str(_side(number, row))
            _show_decision(parts, number, decision(row, plan, approval), refresh)

    refresh()
    ui.timer(EVERY_S, refresh)
    if before[0] == "done":
        workers.hint("layers", render.open_job, number)  # likely what is looked at next


def _show_decision(parts: JobParts, number: int, asks: Decision, refresh: Callable[[], None]) -> None:
    parts.next_box.classes(add="waits" if asks.waits else "", remove="" if asks.waits else "waits")
    parts.words.clear()
    parts.acts.clear()
    with parts.words:
        widgets.html(rows.decision(asks))
    with parts.acts:
        for act in asks.acts:
            _act(act, number, refresh)


def _act(act: str, number: int, refresh: Callable[[], None]) -> None:
    if act == "change":
        if history.facts(number).version:
            widgets.link(f"/job/{number}/change", "Change something", "plain")
    elif act == "approve":
        _approve(number, refresh)
    else:
        do = partial(_go_on, number) if act == "go on" else partial(_tell, act, number, refresh)
        widgets.button(rows.BUTTONS[act], do, may="plan", solid=rows.stands_out(act))


async def _tell(act: str, number: int, refresh: Callable[[], None]) -> None:
    await actions.run("plan", partial(runs.stop if act == "stop" else runs.enough, number))
    refresh()


async def _go_on(number: int) -> None:
    name = session.person().name
    new = await actions.run("plan", partial(runs.again, number, name))
    if new is not None:
        ui.navigate.to(f"/job/{new}")


def _approve(number: int, refresh: Callable[[], None]) -> None:
    person, note = widgets.person_field("Approved by"), widgets.text_field("Note")

    def approve(name: str) -> str:
        approvals.approve_plan(number, name, note.value)
        return "approved for printing"

    async def do() -> None:
        words = await actions.run_as("approve", person, approve)
        if words:
            widgets.notify(words)
            refresh()

    widgets.button("Approve for printing", do, may="approve", solid=True)


def _side(number: int, row: JobRecord) -> Markup:
    """What was changed since last time, files, versions and facts."""
    version = history.version(number)
    parts = [_since(number), Markup("<h2>Downloads</h2>"), rows.downloads(number, _files(number))]
    if version:
        planned = rows.jobs_of_versions(history.rows())
        lines = rows.versions(number, history.versions_of(version.thread), planned, approvals.approvals())
        parts += [Markup("<h2>Versions</h2>"), lines]
    parts += [Markup("<h2>Facts</h2>"), rows.facts(row)]
    return Markup("").join(parts)


def _since(number: int) -> Markup:
    before = history.before(number)
    return rows.since(_planned(before), _planned(number)) if before is not None else Markup("")


def _planned(number: int) -> ComparedJob:
    return ComparedJob(
        job=number,
        version=history.version(number),
        tables=history.order_tables(number) or {},
        plan=history.plan(number),
    )


def _files(number: int) -> list[str]:
    """Names of the files that are there to be taken."""

    def there(name: str) -> bool:
        try:
            bundle.file(number, 1, name)
        except SaggerError:
            return False
        return True

    papers = {"offer": offers.can(number), "certificate": certifying.can(number)}
    made = [name for name in rows.PAPERS if papers[name.partition(".")[0]]]
    return [*(name for name in rows.DOWNLOADS if there(name)), *made]
