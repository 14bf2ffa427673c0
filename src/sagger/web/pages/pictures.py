"""The pictures of a job: its box in space, its layers of drops, its parts with their findings."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from markupsafe import Markup
from nicegui import ui

from sagger.desk.pictures import render, sources, workers
from sagger.desk.pictures.faces import PartSource
from sagger.desk.planning import drafts, history, runs, stated_lines
from sagger.errors import InputError, SaggerError
from sagger.files.reading import CHORD_MM, SECONDS
from sagger.goods.finding import heaviest_first
from sagger.goods.part import Part
from sagger.goods.plain import Table
from sagger.views.pictures import deviation
from sagger.views.words.noticed import finding
from sagger.web import face_panel, session, widgets
from sagger.web.base_page import page
from sagger.web.elements.bed import BedScene, BedUrls
from sagger.web.elements.layers import Layers
from sagger.web.elements.maps import Maps
from sagger.web.elements.part import PartForm, PartView
from sagger.web.face_panel import ClickedPart
from sagger.web.rows import faces
from sagger.web.rows import pictures as rows
from sagger.web.rows.order_fields import PartKey, written

T = TypeVar("T")


def register() -> None:
    ui.page("/job/{number}/bed")(_bed)
    ui.page("/job/{number}/layers")(_layers)
    ui.page("/job/{number}/part")(_parts)
    ui.page("/job/{number}/part/{name:path}")(_part)


def _bed(number: int, box: int = 1, piece: str = "", by: str = "") -> None:
    with page(_title(number, "the box"), wide=True):
        keys = _box(number, box, "bed")
        if keys:
            at = f"/api/box/{keys.stack}"
            urls = BedUrls(
                pieces=f"{at}/pieces.json?cured={keys.cured}",
                places=f"{at}/places.bin",
                part=f"{at}/form/PART.bin",
                parts=f"{at}/forms/MOST.bin",
            )
            workers.hint("shapes", render.open_box, keys.stack, keys.cured)
            workers.hint("layers", render.open_job, number)
            _preload(urls.pieces, urls.places, urls.parts.replace("MOST", str(sources.RUNGS[0])))
            BedScene(urls, sources.RUNGS, chosen=piece, way=by)
            if sources.bed_map(keys.stack):
                widgets.html(rows.DENSITY.format(f"{at}/density.svg"))


def _layers(number: int, box: int = 1, layer: int = 0, at: str = "") -> None:
    with page(_title(number, "layers"), wide=True):
        keys = _box(number, box, "layers")
        if keys:
            stack = sources.stack(keys.stack)
            first = rows.first_layer(layer, stack.count)
            workers.hint("layers", render.open_layer, keys.stack, first - 1)
            Layers(stack, f"/api/box/{keys.stack}/layer/CUT.bin", first, rows.place(at))


def _parts(number: int) -> None:
    with page(_title(number, "parts")):
        _stylesheet()
        widgets.html(rows.links(number, "part", 1))
        names = [sources.part(key).request.name for key in _known(number, sources.parts)]
        widgets.html(rows.parts(number, names))


def _part(number: int, name: str) -> None:
    with page(name, wide=True):
        _stylesheet()
        widgets.html(rows.links(number, "part", 1))
        keys = _known(number, sources.parts)
        names = [sources.part(key).request.name for key in keys]
        if name not in names:
            ui.label(f"This job has no part {name}." if names else rows.NOT_YET)
            return
        place = names.index(name)
        part = sources.part(keys[place])
        findings = [finding(noticed) for noticed in heaviest_first(part.findings) if noticed.level != "ok"]
        area = ui.element("div")

        async def show() -> None:
            with area:
                clicked = _clickable(number, part, place, findings)
                if clicked is None or await face_panel.opened(clicked) is None:
                    _seen_only(keys[place], part, place, findings)
                else:
                    _plan_lines(number, clicked)

        ui.timer(0, show, once=True)  # reading a part takes longer than a page may
        _out_of_the_furnace(number, name)


def _seen_only(key: str, part: Part, place: int, findings: list[Table]) -> None:
    """The part as it was looked at, where its file is not kept: its faces cannot be chosen then."""
    low, high = part.shape.vertices.min(axis=0).tolist(), part.shape.vertices.max(axis=0).tolist()
    shown = PartForm(
        url=f"/api/part/{key}/form/MOST.bin",
        low=tuple(low),
        high=tuple(high),
        triangles=len(part.shape.triangles),
        rungs=sources.RUNGS,
    )
    PartView(shown, findings, place)
    widgets.html(faces.of_drawing(part.drawing))


def _plan_lines(number: int, clicked: ClickedPart) -> None:
    """What was taken on this page, planned as a new version."""

    async def plan() -> None:
        try:
            person = session.require("plan").name
            version = history.version(number)
            if version is None:
                raise InputError("this job plans an order file that lies elsewhere")
            tables = stated_lines.taken_in(drafts.tables(version.id), clicked.at)
            new = await asyncio.to_thread(drafts.change, version.id, tables, person)
            stated_lines.forget(clicked.at)
            job = await asyncio.to_thread(runs.ask, new, person)
            ui.navigate.to(f"/compare?one={number}&other={job}")
        except SaggerError as error:
            widgets.refuse(error)

    with ui.element("div").classes("acts"):
        widgets.button("Plan these lines beside the order as it is", plan, may="plan")


def _clickable(number: int, part: Part, place: int, findings: list[Table]) -> ClickedPart | None:
    """The part's own file, where the order was planned from files that are kept here; None else."""
    version = history.version(number)
    request = part.request
    path = Path(version.folder) / request.file if version is not None else None
    if version is None or path is None or not path.is_file():
        return None
    row = written(drafts.tables(version.id), PartKey(request.file, request.body))
    source = PartSource(
        str(path),
        request.unit,
        request.body,
        request.chord_mm or CHORD_MM,
        request.reading_s or SECONDS,
        request.rotation_deg,
        request.scale,
    )
    at = stated_lines.of_version(version.id)
    return ClickedPart(
        lambda: source, lambda: row, at, place, needs_unit=False, findings=tuple(findings), named="Findings"
    )


def _out_of_the_furnace(number: int, name: str) -> None:
    """Maps of a part that was followed through the furnace; nothing of others."""
    try:
        greens = {sources.green(key).part.request.name: key for key in _known(number, sources.bent)}
        sag = sources.green(greens[name]).sag if name in greens else None
    except SaggerError as error:
        ui.label(str(error))
        return
    document = deviation.document(sag) if sag else None
    if document:
        words = rows.FOLLOWED.format(document["method"])
        widgets.html(Markup("<h2>Out of the furnace</h2><p>{}</p>").format(words))
        Maps(f"/api/green/{greens[name]}/maps.bin", document)


def _box(number: int, box: int, here: str) -> sources.BoxKeys | None:
    """Keys of a box; says so on the page if it is not there."""
    _stylesheet()
    widgets.html(rows.links(number, here, box))
    keys = _known(number, sources.boxes)
    missing = rows.missing_box(box, len(keys))
    if missing:
        ui.label(missing)
        return None
    widgets.html(rows.boxes(number, here, box, len(keys)))
    try:
        sources.stack(keys[box - 1].stack)
    except SaggerError as error:
        ui.label(str(error))
        return None
    return keys[box - 1]


def _known(number: int, ask: Callable[[int], list[T]]) -> list[T]:
    """What a job came to; nothing if there is no such job."""
    try:
        history.facts(number)
        return ask(number)
    except SaggerError:
        return []


def _title(number: int, what: str) -> str:
    try:
        return f"{history.facts(number).name}: {what}"
    except SaggerError:
        return "No such job"


def _preload(*addresses: str) -> None:
    """Have the browser ask for these while the page itself is still on its way."""
    lines = [f'<link rel="preload" as="fetch" crossorigin="anonymous" href="{url}">' for url in addresses]
    script = f'<script type="module" nonce="{session.nonce()}">import "sagger-viewer";</script>'
    ui.add_head_html("".join(lines) + script)


def _stylesheet() -> None:
    ui.add_head_html('<link rel="stylesheet" href="/bench/pictures.css">')
