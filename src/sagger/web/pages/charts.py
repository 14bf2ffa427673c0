"""Control charts of what was measured, and how well it keeps to its tolerance."""

from __future__ import annotations

import asyncio
from typing import Any
from urllib.parse import urlencode

from markupsafe import Markup
from nicegui import ui

from sagger.desk import judging
from sagger.errors import SaggerError
from sagger.goods.judged import Characteristic, Compared, Judged, Size
from sagger.views import control
from sagger.views import judged as view
from sagger.views.wording import count
from sagger.web import blocks, frame

TONES = {"conforms": "ready", "undecided": "look", "does not conform": "stop"}
SETTLED = 20  # readings


def put_up() -> None:
    ui.page("/charts")(_page)


async def _page(  # each is a word of the address, so that a chart can be sent to a colleague
    part: str = "",
    axis: str = "",
    feature: str = "",
    nominal: float = 0.0,
    tolerance: str = "",
    box: str = "",
) -> None:
    asked = Size(part=part, axis=axis, feature=feature, nominal_mm=nominal) if nominal else None
    with frame.page("Charts of a size", wide=True):
        frame.back("/readings", "Lots and readings")
        known = await asyncio.to_thread(judging.sizes, box=box)
        if not known and not box:
            frame.show(
                "<p>No finished lengths with a nominal size are in the ledger yet. A chart needs 3 readings "
                "of one size at least, a bare capability 25.</p>"
            )
            return
        _choose(known, asked, tolerance, box)
        if asked is None or not tolerance:
            frame.show("<p>Say which tolerance the size is judged by, then show the charts.</p>")
        else:
            try:
                _shown(asked, await asyncio.to_thread(judging.one, asked, tolerance, box=box))
            except SaggerError as error:
                frame.refused(error)
        frame.show(_sizes(known, tolerance, box))


def _choose(known: list[tuple[Size, int]], asked: Size | None, tolerance: str, box: str) -> None:
    names = {_address(size): f"{control.name(size)} ({count(number, 'reading')})" for size, number in known}
    now = _address(asked) if asked else next(iter(names), "")
    if asked and now not in names:
        names[now] = f"{control.name(asked)} (no readings)"
    with ui.element("div").classes("fields"):
        size = ui.select(names, value=now or None, label="what was measured").props(frame.LOOK)
        size.classes("broad")
        limit = frame.ask("tolerance (± on the size: 0.2 mm, 0.5 % or ISO 2768-m)", tolerance)
        only = frame.ask("only this printed box (empty = all)", box)

    def show() -> None:
        ui.navigate.to(f"/charts?{size.value}&{_more(limit.value, only.value)}")

    for field in (limit, only):
        field.on("keydown.enter", show)
    with ui.element("div").classes("acts"):
        frame.button("Show the charts", show, solid=True)


def _address(size: Size) -> str:
    said = {
        "part": size.part,
        "axis": size.axis,
        "feature": size.feature,
        "nominal": f"{size.nominal_mm:.10g}",
    }
    return urlencode(said)


def _more(tolerance: str, box: str) -> str:
    return urlencode({"tolerance": tolerance.strip(), "box": box.strip()})


def _sizes(known: list[tuple[Size, int]], tolerance: str, box: str) -> Markup:
    """Every size there is; once there is a tolerance each leads to its charts."""
    if not known:
        return Markup("<p>No finished lengths of this box are in the ledger.</p>")
    rows: list[tuple[object, ...]] = []
    for size, number in known:
        name: object = control.name(size)
        if tolerance:
            name = blocks.link(f"/charts?{_address(size)}&{_more(tolerance, box)}", name)
        rows.append((name, number, "" if number > 2 else "a chart needs 3 at least"))
    head = ("Size", "readings", "")
    return Markup("<h2>Sizes that were measured</h2>") + blocks.table(head, rows, "Sizes", numbers=(1,))


def _shown(asked: Size, judged: Judged) -> None:
    if not judged.characteristics:
        lines = judged.left_out or (f"{control.name(asked)}: 0 readings; a chart needs 3 at least",)
        frame.show(Markup("<h2>No chart yet</h2>{}").format(blocks.items(dict.fromkeys(lines))))
    for each in judged.characteristics:
        with ui.element("div").classes("charted"):
            words = f"control charts of {control.name(each)}; {_verdict(each)}"
            drawn = Markup('<div class="chart" role="img" aria-label="{}">{}</div>')
            frame.show(drawn.format(words, Markup(control.chart(each))))
            with ui.element("aside"):
                frame.show(_said(each, judged.compared))
        frame.show(Markup("<h2>How the lines come about</h2>") + _limits(each))
    if judged.compared:
        frame.show(Markup("<h2>Readings</h2>") + _readings(judged))


def _verdict(each: Characteristic) -> str:
    places = {alarm.place for alarm in each.alarms}
    return (
        f"{count(len(places), 'reading')} of {len(each.pieces)} marked" if places else "no reading is marked"
    )


def _said(each: Characteristic, compared: tuple[Compared, ...]) -> Markup:
    """What the charts say, in words."""
    found = view.alarms(each)
    quiet = "Every reading lies inside its limits, and no rule is broken: nothing that chance could not do."
    alarms = blocks.items(found) if found else Markup("<p>{}</p>").format(quiet)
    several = Markup("")
    if len(each.pieces) < SETTLED:
        several = Markup(
            "<p>Limits from fewer than {} readings are provisional (common practice, no source).</p>"
        )
        several = several.format(SETTLED)
    if 1 < len(set(each.boxes)) < len(each.boxes):
        several += Markup(
            "<p>Pieces of one box resemble each other. The limits come from neighbours, so steps from box to "
            "box are seen sooner than the count of false alarms says.</p>"
        )
    verdicts = [(word, sum(row.said == word for row in compared)) for word in view.SAID]
    kept = blocks.facts((blocks.state_of(TONES[word], word), number) for word, number in verdicts)
    able = blocks.facts((what, value) for what, value, *_ in view.able(each))
    form = "<h2>Under control? {}</h2>{}{}<h2>Against the tolerance ± {} mm</h2>{}<h3>Capability</h3>{}"
    state = blocks.state_of("look", "look") if found else blocks.state_of("ready", "quiet")
    return Markup(form).format(state, alarms, several, f"{each.half_mm:g}", kept, able)


def _limits(each: Characteristic) -> Markup:
    key = (
        "Thick lines: the tolerance. Dashes: the limits. Thin line: the mean. Line without points: the "
        "weighted mean. Square: a reading that is marked. The limits come from these readings, "
        "not from the tolerance."
    )
    head = ("What", "mm", "How", "Source")
    able = [(what, value, how, source) for what, value, how, source in view.able(each)]
    table = blocks.table(head, view.limits(each), "Lines of the charts", numbers=(1,))
    worth = blocks.table(("What", "value", "How", "Source"), able, "Capability", numbers=(1,))
    return Markup("<p>{}</p>{}<h3>Capability</h3>{}").format(key, table, worth)


def _readings(judged: Judged) -> Markup:
    marked: dict[int, list[str]] = {}
    for each in judged.characteristics:
        for alarm in each.alarms:
            marked.setdefault(each.readings[alarm.place], []).append(alarm.rule)
    rows: list[tuple[Any, ...]] = []
    for place, row in enumerate(sorted(judged.compared, key=lambda row: row.reading), 1):
        said = blocks.state_of(TONES[row.said], row.said)
        rules = ", ".join(dict.fromkeys(view.SHORT[rule] for rule in marked.get(row.reading, ())))
        deviation = f"{control.signed(row.deviation_mm, 4)} ± {row.u_mm:.4f}"
        rows.append((place, row.box, row.piece, deviation, said, rules))
    head = ("Reading", "Box", "Piece", "deviation, mm", "Against the tolerance", "Marked for")
    return blocks.table(head, rows, "Readings of this size", numbers=(3,))
