"""One job as a route from part file to price, and the one thing that needs a decision next."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import Any

from markupsafe import Markup
from nicegui import ui

from sagger.desk import approvals, bundle, history, runs
from sagger.errors import SaggerError
from sagger.views.compare import compare
from sagger.views.decide import Decision, decision
from sagger.views.route import Leg, route
from sagger.views.standing import Rest
from sagger.views.wording import moment
from sagger.web import blocks, frame

EVERY_S = 0.5
PICTURES = {
    "intake": "part",
    "nest": "bed",
    "layers": "layers",
    "cure": "programmes",
    "sinter": "programmes",
    "cost": "price",
}
SEE = {
    "part": "see the parts",
    "bed": "see the box",
    "layers": "see the layers",
    "programmes": "see the programmes",
    "price": "see the price",
}
CARRY = {
    "traveller.pdf": "Traveller, PDF",
    "traveller.html": "Traveller, page",
    "layers.zip": "Drop images of all layers, zip",
    "bed.3mf": "Nested box, 3MF",
    "plan.json": "Every number of the plan, JSON",
}


def put_up() -> None:
    ui.page("/job/{number}")(_page)


def _page(number: int) -> None:
    try:
        row = history.facts(number)
    except SaggerError as error:
        with frame.page("No such job"):
            ui.label(str(error))
        return
    version = history.version(number)
    title = f"{row['name']}" + (f", version {version['number']}" if version else "")
    with frame.page(title, wide=True):
        _body(number)


def _body(number: int) -> None:
    next_box = ui.element("section").classes("next").props('aria-live="polite" aria-label="Next"')
    with ui.element("div").classes("two"):
        shown = frame.show("")
        with ui.element("aside"):
            side = frame.show("")
    seen: list[Any] = []

    def look() -> None:
        row, plan = history.facts(number), history.plan(number)
        approval = approvals.approvals().get(number)
        legs = route(row, history.verbs(number), plan)
        shown.content = str(_route(number, legs, plan))
        now = [row["state"], approval]
        if now != seen:
            seen[:] = now
            side.content = str(_side(number, row))
            _next(next_box, number, decision(row, plan, approval), look)

    look()
    ui.timer(EVERY_S, look)


def _next(box: ui.element, number: int, said: Decision, look: Callable[[], None]) -> None:
    box.clear()
    box.classes(add="waits" if said.waits else "", remove="" if said.waits else "waits")
    with box:
        frame.show(Markup("<h2>{}</h2><p>{}</p>").format(said.words, said.why))
        with ui.element("div").classes("acts"):
            for act in said.acts:
                _act(act, number, look)


def _act(act: str, number: int, look: Callable[[], None]) -> None:
    if act == "change":
        if history.facts(number)["version"]:
            frame.show(blocks.link(f"/job/{number}/change", "Change something", "plain"))
        return
    if act == "approve":
        _approve(number, look)
        return

    async def do() -> None:
        try:
            who = frame.allowed("plan")
            if act == "stop":
                await asyncio.to_thread(runs.stop, number)
                look()
            else:
                new = await asyncio.to_thread(runs.ask, history.facts(number)["version"], who["name"])
                ui.navigate.to(f"/job/{new}")
        except SaggerError as error:
            frame.refused(error)

    words = {"stop": "Stop planning", "go on": "Go on with planning"}[act]
    frame.button(words, do, solid=act == "go on")


def _approve(number: int, look: Callable[[], None]) -> None:
    who = frame.person()
    name = ui.input("Approved by", value=who["name"] if frame.rules().accounts else "")
    name.props("outlined stack-label")
    if frame.rules().accounts:
        name.props("readonly")
    note = frame.ask("Note")

    def do() -> None:
        try:
            frame.allowed("approve")
            approvals.approve_plan(number, name.value, note.value)
            frame.told("approved for printing")
            look()
        except SaggerError as error:
            frame.refused(error)

    frame.button("Approve for printing", do, solid=True)


def _route(number: int, legs: tuple[Leg, ...], plan: dict[str, Any] | None) -> Markup:
    planned = plan is not None and plan["state"] == "planned"
    return Markup('<h2>Route</h2><ol class="route">{}</ol>').format(
        Markup("").join(_leg(number, leg, planned) for leg in legs)
    )


def _leg(number: int, leg: Leg, planned: bool) -> Markup:
    says = Markup("").join(Markup("<p>{}</p>").format(_said(line, leg.rests)) for line in leg.says)
    bar = ""
    if leg.state == "running":
        value = "" if leg.share is None else Markup(' value="{}"').format(f"{leg.share:.3f}")
        bar = Markup('<p><progress max="1"{} aria-label="{}"></progress> {}</p>').format(
            value, leg.name, leg.doing
        )
    found = Markup("").join(_finding(each) for each in leg.findings)
    page = PICTURES.get(leg.room)
    more = blocks.link(f"/job/{number}/{page}", SEE[page]) if page and planned else ""
    tone = "tocome" if leg.state == "to come" else ""
    return Markup('<li class="leg {}"><div>{}</div><div><h3>{} {}</h3>{}{}{}</div></li>').format(
        tone, blocks.state(leg.state), leg.name, more, bar, says, found
    )


def _said(line: str, rests: Rest | None) -> Markup:
    return blocks.resting(line, rests) if any(map(str.isdigit, line)) else blocks.safe(line)


def _finding(found: Any) -> Markup:
    source = Markup(" <small>({})</small>").format(found["source"]) if found["source"] else ""
    return Markup('<div class="found {}"><p><strong>{}</strong>: {} {}{}</p></div>').format(
        found["level"], found["what"], found["text"], found["remedy"], source
    )


def _side(number: int, row: dict[str, Any]) -> Markup:
    version = history.version(number)
    parts = [Markup("<h2>Take away</h2>"), _files(number, row)]
    if version:
        parts += [_since(number), Markup("<h2>Versions</h2>"), _versions(number, version)]
    facts = [("job", number), ("began, UTC", moment(row["began"]))]
    facts += [("ended, UTC", moment(row["ended"]))] if row["ended"] else []
    facts += [("first box can start", moment(row["start"]))] if row["start"] else []
    facts += [("asked by", row["person"])] if row["person"] else []
    parts += [Markup("<h2>Facts</h2>"), blocks.facts(facts)]
    return Markup("").join(parts)


def _since(number: int) -> Markup:
    """What came out otherwise than in the version before."""
    before = history.before(number)
    plans = [history.plan(each) if each else None for each in (before, number)]
    if not all(plan and plan["state"] == "planned" for plan in plans):
        return Markup("")
    pairs = [pair for pair in compare(*plans) if pair.differs]  # type: ignore[arg-type]
    rows = [(pair.name, f"{pair.differs} {pair.unit}", f"{pair.other} {pair.unit}") for pair in pairs]
    link = blocks.link(f"/compare?one={before}&other={number}", "Side by side")
    head = ("what", "by", "now")
    body = blocks.table(head, rows, "Since the version before", numbers=(1, 2)) if rows else "nothing"
    return Markup("<h2>Since the version before</h2>{}<p>{}</p>").format(body, link)


def _files(number: int, row: dict[str, Any]) -> Markup:
    there = [name for name in CARRY if _there(number, name)]
    if not there:
        return Markup("<p>Nothing yet: it comes with the plan.</p>")
    return blocks.items(blocks.link(f"/files/job/{number}/{name}", CARRY[name]) for name in there)


def _there(number: int, name: str) -> bool:
    try:
        bundle.file(number, 1, name)
    except SaggerError:
        return False
    return True


def _versions(number: int, version: dict[str, Any]) -> Markup:
    planned = {row["version"]: row["id"] for row in reversed(history.rows()) if row["version"]}
    lines = []
    for each in history.versions_of(version["thread"]):
        job = planned.get(each["id"])
        name = f"version {each['number']}"
        title = (
            blocks.link(f"/job/{job}", name)
            if job and job != number
            else Markup("<strong>{}</strong>").format(name)
        )
        changed = "; ".join(each["changes"]) or "as it came"
        beside = ""
        if job and job != number:
            beside = Markup(" {}").format(blocks.link(f"/compare?one={job}&other={number}", "side by side"))
        lines.append(Markup("{}: {}{}").format(title, changed, beside))
    return blocks.items(lines)
