"""One job as a route from part file to price, and the one thing that needs a decision next."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import Any

from markupsafe import Markup
from nicegui import ui

from sagger.desk import approvals, bundle, history, painter, runs
from sagger.errors import SaggerError
from sagger.views.changes import changes
from sagger.views.compare import Pair
from sagger.views.decide import Decision, decision
from sagger.views.headline import headline
from sagger.views.route import Leg, route
from sagger.views.wording import moment, signed
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
    with ui.element("div").classes("two"):
        with ui.element("div"):
            with ui.element("section").classes("next").props('aria-label="Next"') as next_box:
                said = ui.element("div").props('aria-live="polite"')
                height = frame.show("")
                acts = ui.element("div").classes("acts")
            shown = frame.show("")
        with ui.element("aside"):
            side = frame.show("")
    seen: list[Any] = []

    def look() -> None:
        row, plan = history.facts(number), history.plan(number)
        approval = approvals.approvals().get(number)
        legs = route(row, history.verbs(number), plan)
        shown.content = str(_route(number, legs, plan))
        height.content = str(_height(row))
        now = [row["state"], row["improving"], approval]
        if now != seen:
            seen[:] = now
            side.content = str(_side(number, row))
            _next((next_box, said, acts), number, decision(row, plan, approval), look)

    look()
    ui.timer(EVERY_S, look)
    if seen[0] == "done":
        painter.hint("layers", "open_job", number)  # likely what is looked at next


def _next(boxes: tuple[ui.element, ...], number: int, said: Decision, look: Callable[[], None]) -> None:
    box, words, acts = boxes
    box.classes(add="waits" if said.waits else "", remove="" if said.waits else "waits")
    words.clear()
    acts.clear()
    with words:
        frame.show(Markup("<h2>{}</h2><p>{}</p>").format(said.words, blocks.coded(said.why)))
    with acts:
        for act in said.acts:
            _act(act, number, look)


def _height(row: dict[str, Any]) -> Markup:
    """How far a nest is that only becomes better."""
    if row["state"] != "running" or not row["improving"]:
        return Markup("")
    if row["enough"]:
        return Markup("<p><strong>You said that it is enough.</strong></p>")
    return Markup('<p class="height">{}</p>').format(row["doing"])


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
            if act in ("stop", "enough"):
                await asyncio.to_thread(runs.stop if act == "stop" else runs.enough, number)
                look()
            else:
                new = await asyncio.to_thread(runs.ask, history.facts(number)["version"], who["name"])
                ui.navigate.to(f"/job/{new}")
        except SaggerError as error:
            frame.refused(error)

    words = {"stop": "Stop planning", "enough": "This height is enough", "go on": "Go on with planning"}[act]
    frame.button(words, do, solid=act != "stop")


def _approve(number: int, look: Callable[[], None]) -> None:
    who = frame.person()
    name = ui.input("Approved by", value=who["name"] if frame.rules().accounts() else "")
    name.props("outlined stack-label")
    if frame.rules().accounts():
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
    says = Markup("").join(Markup("<p>{}</p>").format(blocks.figures(line, leg.rests)) for line in leg.says)
    bar = ""
    if leg.state == "running":
        value = "" if leg.share is None else Markup(' value="{}"').format(f"{leg.share:.3f}")
        bar = Markup('<p><progress max="1"{} aria-label="{}"></progress> {}</p>').format(
            value, leg.name, leg.doing
        )
    kinds: dict[tuple[str, str], list[Any]] = {}
    for each in leg.findings:
        kinds.setdefault((each["level"], each["what"]), []).append(each)
    found = Markup("").join(map(_findings, kinds.values()))
    page = PICTURES.get(leg.room)
    more = blocks.link(f"/job/{number}/{page}", SEE[page]) if page and planned else ""
    tone = "tocome" if leg.state == "to come" else ""
    return Markup('<li class="leg {}"><div>{}</div><div><h3>{} {}</h3>{}{}{}</div></li>').format(
        tone, blocks.state(leg.state), leg.name, more, bar, says, found
    )


def _findings(alike: list[Any]) -> Markup:
    """The first of several findings of a kind; what the others say otherwise is one step away."""
    texts = list(dict.fromkeys(_text(each) for each in alike))
    more = Markup("")
    if len(texts) > 1:
        more = Markup("<details><summary>{} more like it</summary>{}</details>").format(
            len(texts) - 1, Markup("").join(Markup("<p>{}</p>").format(text) for text in texts[1:])
        )
    form = '<div class="found {}"><p><strong>{}</strong>: {}</p>{}</div>'
    return Markup(form).format(alike[0]["level"], alike[0]["what"], texts[0], more)


def _text(found: Any) -> Markup:
    words = dict.fromkeys(part.strip() for part in found["source"].split(","))
    source = Markup(" <small>({})</small>").format(", ".join(words)) if found["source"] else ""
    return Markup("{} {}{}").format(blocks.coded(found["text"]), blocks.coded(found["remedy"]), source)


def _side(number: int, row: dict[str, Any]) -> Markup:
    version = history.version(number)
    parts = [_since(number), Markup("<h2>Take away</h2>"), _files(number, row)]
    if version:
        parts += [Markup("<h2>Versions</h2>"), _versions(number, version)]
    facts = [("job", number), ("began, UTC", moment(row["began"]))]
    facts += [("ended, UTC", moment(row["ended"]))] if row["ended"] else []
    facts += [("first box can start", moment(row["start"]))] if row["start"] else []
    facts += [("asked by", row["person"])] if row["person"] else []
    parts += [Markup("<h2>Facts</h2>"), blocks.facts(facts)]
    return Markup("").join(parts)


def _since(number: int) -> Markup:
    """What was changed since last time, and what came out otherwise for it."""
    before = history.before(number)
    if before is None:
        return Markup("")
    one, other = history.plan(before), history.plan(number)
    was, now = history.version(before), history.version(number)
    name = f"version {was['number']}" if was and now and was["id"] != now["id"] else f"job {before}"
    said = changes(history.order_tables(before) or {}, history.order_tables(number) or {})
    top = blocks.items(map(signed, said)) if said else Markup("<p>The order says the same.</p>")
    link = blocks.link(f"/compare?one={before}&other={number}", "Side by side, all figures")
    form = '<section class="since" aria-label="Since last time"><h2>Since {}</h2>{}{}<p>{}</p></section>'
    body = Markup("")
    if one and other and one["state"] == other["state"] == "planned":
        pairs = [each for each in headline(one, other) if each.differs]
        body = (
            _came_out(pairs) if pairs else Markup("<p>Odds, time, powder, price and date are the same.</p>")
        )
    return Markup(form).format(name, top, body, link)


def _came_out(pairs: list[Pair]) -> Markup:
    rows = []
    for each in pairs:
        unit = f" {each.unit}" if each.unit else ""
        by = each.differs if each.name == "ready" else f"{each.differs}{unit}"
        rows.append((each.name, by, blocks.resting(each.other + unit, each.rests[1])))
    return blocks.table(("what", "by", "now"), rows, "What came out otherwise", numbers=(1, 2))


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
        changed = "; ".join(map(signed, each["changes"])) or "as it came"
        beside = ""
        if job and job != number:
            beside = Markup(" {}").format(blocks.link(f"/compare?one={job}&other={number}", "side by side"))
        lines.append(Markup("{}: {}{}").format(title, changed, beside))
    return blocks.items(lines)
