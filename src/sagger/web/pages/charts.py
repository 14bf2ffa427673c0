"""Control charts of what was measured, and how well it keeps to its tolerance."""

from __future__ import annotations

import asyncio
import math
from urllib.parse import urlencode

from markupsafe import Markup
from nicegui import ui
from starlette.requests import Request

from sagger.desk import judging
from sagger.errors import InputError, SaggerError
from sagger.goods.judged import Characteristic, Compared, Control, Judged, Size
from sagger.goods.reading import Reading
from sagger.views import control
from sagger.views import judged as view
from sagger.views.readings import size as told
from sagger.views.wording import count, signed
from sagger.web import blocks, frame

TONES = {"conforms": "ready", "undecided": "look", "does not conform": "stop"}
KEY = ("part", "axis", "feature", "nominal", "scale", "kind", "state")  # words of an address
PATIENCE_S = 60.0  # the first chart after a start waits for run lengths to be worked out
SHOWN = 500  # readings, the newest
SETTLED = 20  # readings


def put_up() -> None:
    ui.page("/charts", response_timeout=PATIENCE_S)(_page)


async def _page(request: Request) -> None:
    said = {name: request.query_params.get(name, "") for name in (*KEY, "tolerance", "box")}
    box = said["box"]
    with frame.page("Charts of a size", wide=True):
        frame.back("/readings", "Lots and readings")
        known = await asyncio.to_thread(judging.sizes, box=box)
        if not known and not box:
            frame.show(
                "<p>No readings are in the ledger yet. A chart needs 3 readings of one size at least, "
                "a bare capability 25.</p>"
            )
            return
        try:
            asked = _size(said) if any(said[name] for name in KEY) else None
            _choose(known, asked, said["tolerance"], box)
            if asked is not None:
                await _answer(asked, said["tolerance"], box)
        except SaggerError as error:
            frame.refused(error)
        frame.show(_sizes(known, said["tolerance"], box))


def _size(said: dict[str, str]) -> Size:
    """The size that an address names; finished lengths need not say that they are."""
    try:
        nominal = float(said["nominal"] or 0)
    except ValueError:
        raise InputError("a nominal size is a number", field="nominal", value=said["nominal"]) from None
    rest = {key: said[key] for key in ("part", "axis", "feature", "scale")}
    return Size(kind=said["kind"] or "length", state=said["state"] or "sintered", nominal_mm=nominal, **rest)


async def _answer(asked: Size, tolerance: str, box: str) -> None:
    """Charts, with a tolerance what keeps to it, and the readings; or a sentence on what is missing."""
    judged = None
    if tolerance and asked.finished:
        judged = await asyncio.to_thread(judging.one, asked, tolerance, box=box)
    elif tolerance:
        frame.show("<p>A tolerance is only asked of finished lengths with a nominal size.</p>")
    able = next(iter(judged.characteristics), None) if judged else None
    try:
        charts = await asyncio.to_thread(judging.charted, asked, box=box)
    except InputError as error:
        frame.show(Markup("<h2>No chart yet</h2><p>{}.</p>").format(error.what))
        charts = None
    if charts:
        _charted(asked, charts, able, judged.compared if judged else ())
    found = await asyncio.to_thread(judging.of_size, asked, box=box)
    if found:
        frame.show(Markup("<h2>Readings</h2>") + _readings(found, charts, judged))


def _choose(known: list[tuple[Size, int]], asked: Size | None, tolerance: str, box: str) -> None:
    names = {_address(size): f"{control.name(size)} ({count(number, 'reading')})" for size, number in known}
    now = _address(asked) if asked else next(iter(names), "")
    if asked and now not in names:
        names[now] = f"{control.name(asked)} (no readings)"
    with ui.element("div").classes("fields"):
        size = ui.select(names, value=now or None, label="what was measured").props(frame.LOOK)
        size.classes("broad")
        limit = frame.ask(
            "tolerance (±, of finished sizes: 0.2 mm, 0.5 % or ISO 2768-m; empty = none)", tolerance
        )
        only = frame.ask("only this printed box (empty = all)", box)

    def show() -> None:
        ui.navigate.to(f"/charts?{size.value}&{_more(limit.value, only.value)}")

    for field in (limit, only):
        field.on("keydown.enter", show)
    with ui.element("div").classes("acts"):
        frame.button("Show the charts", show, solid=True)


def _address(size: Size) -> str:
    said = {"part": size.part, "axis": size.axis, "feature": size.feature, "scale": size.scale}
    if size.nominal_mm:
        said["nominal"] = f"{size.nominal_mm:.10g}"
    if not size.finished:
        said |= {"kind": size.kind, "state": size.state}
    return urlencode({key: word for key, word in said.items() if word})


def _more(tolerance: str, box: str) -> str:
    said = {"tolerance": tolerance.strip(), "box": box.strip()}
    return urlencode({key: word for key, word in said.items() if word})


def _sizes(known: list[tuple[Size, int]], tolerance: str, box: str) -> Markup:
    """Everything that was measured, each with the way to its charts."""
    if not known:
        return Markup("<p>No readings of this box are in the ledger.</p>")
    rows = []
    for size, number in known:
        more = _more(tolerance if size.finished else "", box)
        name = blocks.link(f"/charts?{_address(size)}&{more}".rstrip("&"), control.name(size))
        rows.append((name, number, "" if number > 2 else "a chart needs 3 at least"))
    head = ("Size", "readings", "")
    return Markup("<h2>What was measured</h2>") + blocks.table(head, rows, "What was measured", numbers=(1,))


def _charted(
    asked: Size, charts: Control, able: Characteristic | None, compared: tuple[Compared, ...]
) -> None:
    title, half = control.name(asked), able.half_mm if able else None
    with ui.element("div").classes("charted"):
        drawn = Markup('<div class="chart" role="img" aria-label="control charts of {}; {}">{}</div>')
        frame.show(drawn.format(title, _verdict(charts), Markup(control.chart(charts, title, half))))
        with ui.element("aside"):
            frame.show(_controlled(charts))
            if able:
                frame.show(_kept(able, compared))
    frame.show(Markup("<h2>How the figures come about</h2>") + _limits(charts, able))


def _verdict(charts: Control) -> str:
    places = {alarm.place for alarm in charts.alarms}
    return f"{count(len(places), 'reading')} of {len(charts.pieces)} marked" if places else "none is marked"


def _controlled(charts: Control) -> Markup:
    """What the charts say, in words."""
    found = view.alarms(charts)
    quiet = "Every reading lies inside its limits, and no rule is broken: nothing that chance could not do."
    alarms = blocks.items(found) if found else Markup("<p>{}</p>").format(quiet)
    notes = Markup("")
    if len(charts.pieces) < SETTLED:
        notes += Markup(
            "<p>Limits from fewer than {} readings are provisional (common practice, no source).</p>"
        ).format(SETTLED)
    if 1 < len(set(charts.boxes)) < len(charts.boxes):
        notes += Markup(
            "<p>Pieces of one box resemble each other. The limits come from neighbours, so steps from box to "
            "box are seen sooner than the count of false alarms says.</p>"
        )
    state = blocks.state_of("look", "look") if found else blocks.state_of("ready", "quiet")
    return Markup("<h2>Under control? {}</h2>{}{}").format(state, alarms, notes)


def _kept(able: Characteristic, compared: tuple[Compared, ...]) -> Markup:
    verdicts = [(word, sum(row.said == word for row in compared)) for word in view.SAID]
    kept = blocks.facts((blocks.state_of(TONES[word], word), number) for word, number in verdicts)
    facts = blocks.facts((what, value) for what, value, *_ in view.able(able))
    form = "<h2>Against the tolerance ± {} mm</h2>{}<h3>Capability</h3>{}"
    return Markup(form).format(f"{able.half_mm:g}", kept, facts)


def _limits(charts: Control, able: Characteristic | None) -> Markup:
    key = (
        "Thick lines: the tolerance. Dashes: the limits. Thin line: the mean. Line without points: the "
        "weighted mean. Square: a reading that is marked. The limits come from these readings, "
        "not from the tolerance."
    )
    head = ("What", control.unit(charts), "How", "Source")
    table = blocks.table(head, view.limits(charts), "Lines of the charts", numbers=(1,))
    if able is None:
        return Markup("<p>{}</p>{}").format(key, table)
    worth = blocks.table(("What", "value", "How", "Source"), view.able(able), "Capability", numbers=(1,))
    return Markup("<p>{}</p>{}<h3>Capability</h3>{}").format(key, table, worth)


def _readings(found: tuple[Reading, ...], charts: Control | None, judged: Judged | None) -> Markup:
    """Every reading behind the charts, with what it was marked for."""
    marked: dict[int, list[str]] = {}
    for alarm in charts.alarms if charts else ():
        marked.setdefault(alarm.place, []).append(view.SHORT[alarm.rule])
    verdicts = {row.reading: row for row in judged.compared} if judged else {}
    rows = []
    for place, each in list(enumerate(found))[-SHOWN:]:
        size = signed(told(each.kind, each.value, math.hypot(each.u, each.u_shared), each.unit))
        rules = ", ".join(dict.fromkeys(marked.get(place, ())))
        row = verdicts.get(each.number)
        kept = (
            (control.signed(row.deviation_mm, 4), blocks.state_of(TONES[row.said], row.said))
            if row
            else ("", "")
        )
        rows.append((place + 1, each.box, each.piece, size, rules, *(kept if verdicts else ())))
    head = ["Reading", "Box", "Piece", "Read", "Marked for"]
    head += ["off nominal, mm", "Against the tolerance"] if verdicts else []
    rest = len(found) - SHOWN
    more = Markup("<p>The {} before them are not shown.</p>").format(rest) if rest > 0 else Markup("")
    return blocks.table(head, rows, "Readings of this size", numbers=(3, 5)) + more
