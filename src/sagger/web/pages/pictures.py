"""The pictures of a job: its box in space, its layers of drops, its parts with their findings."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar
from urllib.parse import quote

from markupsafe import Markup
from nicegui import ui

from sagger.desk import history, painter, pictures
from sagger.errors import SaggerError
from sagger.views import deviation
from sagger.views.noticed import finding
from sagger.web import blocks, frame
from sagger.web.elements.bed import Bed
from sagger.web.elements.layers import Layers
from sagger.web.elements.maps import Maps
from sagger.web.elements.part import PartView

T = TypeVar("T")
FOLLOWED = "By {} finite elements, standing on its setter. What the card does not know comes on top."
DENSITY = Markup(
    '<h2>Green density over the bed</h2><figure class="chart">'
    '<img alt="Map of green density from above" src="{}">'
    "<figcaption>From above, by the map that is in force: orange where powder lies denser than the mean, "
    "blue where looser. Dots are the places of the coupons it was learnt from, with their density over the "
    "map's reference, %.</figcaption></figure>"
)
NOT_YET = "There is nothing to see yet: it comes once the job is planned this far."


def put_up() -> None:
    ui.page("/job/{number}/bed")(_bed)
    ui.page("/job/{number}/layers")(_layers)
    ui.page("/job/{number}/part")(_parts)
    ui.page("/job/{number}/part/{name:path}")(_part)


def _bed(number: int, box: int = 1, piece: str = "", by: str = "") -> None:
    with frame.page(_title(number, "the box"), wide=True):
        keys = _box(number, box, "bed")
        if keys:
            at = f"/api/box/{keys['stack']}"
            pieces = f"{at}/pieces.json?cured={keys['cured']}"
            places, forms = f"{at}/places.bin", f"{at}/forms/MOST.bin"
            painter.hint("shapes", "open_box", keys["stack"], keys["cured"])
            painter.hint("layers", "open_job", number)
            _soon(pieces, places, forms.replace("MOST", str(pictures.RUNGS[0])))
            form = f"{at}/form/PART.bin"
            Bed(pieces, places, form, forms, pictures.RUNGS, chosen=piece, way=by)
            if pictures.bed_map(keys["stack"]):
                frame.show(DENSITY.format(f"{at}/density.svg"))


def _layers(number: int, box: int = 1, layer: int = 0, at: str = "") -> None:
    with frame.page(_title(number, "layers"), wide=True):
        keys = _box(number, box, "layers")
        if keys:
            stack = pictures.stack(keys["stack"])
            first = min(max(layer or stack.count // 2, 1), stack.count)
            painter.hint("layers", "open_layer", keys["stack"], first - 1)
            Layers(stack, f"/api/box/{keys['stack']}/layer/CUT.bin", first, _place(at))


def _parts(number: int) -> None:
    with frame.page(_title(number, "parts")):
        _looks()
        _ways(number, "part")
        names = {key: pictures.part(key).request.name for key in _known(number, pictures.parts)}
        frame.show(blocks.items(blocks.link(_part_path(number, name), name) for name in names.values()))


def _part(number: int, name: str) -> None:
    with frame.page(name, wide=True):
        _looks()
        _ways(number, "part")
        keys = _known(number, pictures.parts)
        found = next(
            ((n, key) for n, key in enumerate(keys) if pictures.part(key).request.name == name), None
        )
        if found is None:
            ui.label(NOT_YET)
            return
        place, key = found
        part = pictures.part(key)
        told = [finding(each) for each in part.findings if each.level != "ok"]
        PartView(f"/api/part/{key}/form/MOST.bin", pictures.RUNGS, part.shape, told, place)
        _out_of_the_furnace(number, name)


def _out_of_the_furnace(number: int, name: str) -> None:
    """Maps of a part that was followed through the furnace; nothing of others."""
    try:
        greens = {pictures.green(key).part.request.name: key for key in _known(number, pictures.bent)}
        sag = pictures.green(greens[name]).sag if name in greens else None
    except SaggerError as error:
        ui.label(str(error))
        return
    told = deviation.document(sag) if sag else None
    if told:
        frame.show(Markup("<h2>Out of the furnace</h2><p>{}</p>").format(FOLLOWED.format(told["method"])))
        Maps(f"/api/green/{greens[name]}/maps.bin", told)


def _box(number: int, box: int, here: str) -> dict[str, str] | None:
    """Keys of a box; says so on the page if it is not there."""
    _looks()
    _ways(number, here, box)
    keys = _known(number, pictures.boxes)
    if not 1 <= box <= len(keys):
        ui.label(NOT_YET if not keys else f"This job has {len(keys)} boxes, there is no box {box}.")
        return None
    if len(keys) > 1:
        links = [_other_box(number, here, each, box) for each in range(1, len(keys) + 1)]
        frame.show(Markup('<p class="boxes">{}</p>').format(Markup(" ").join(links)))
    try:
        pictures.stack(keys[box - 1]["stack"])
    except SaggerError as error:
        ui.label(str(error))
        return None
    return keys[box - 1]


def _other_box(number: int, here: str, each: int, now: int) -> Markup:
    if each == now:
        return Markup("<strong>box {}</strong>").format(each)
    return blocks.link(f"/job/{number}/{here}?box={each}", f"box {each}")


def _ways(number: int, here: str, box: int = 1) -> None:
    """From one picture to the others, and back."""
    asked = f"?box={box}" if box > 1 else ""
    ways = {"bed": f"bed{asked}", "layers": f"layers{asked}", "part": "part"}
    words = {"bed": "the box", "layers": "layers", "part": "parts"}
    links = [blocks.link(f"/job/{number}/{ways[to]}", words[to]) for to in ways if to != here]
    back = blocks.link(f"/job/{number}", "Back to the route")
    frame.show(Markup('<p class="ways">{} &nbsp; See also: {}</p>').format(back, Markup(", ").join(links)))


def _known(number: int, ask: Callable[[int], list[T]]) -> list[T]:
    """What a job came to; nothing if there is no such job."""
    try:
        history.facts(number)
        return ask(number)
    except SaggerError:
        return []


def _title(number: int, what: str) -> str:
    try:
        return f"{history.facts(number)['name']}: {what}"
    except SaggerError:
        return "No such job"


def _place(at: str) -> list[float]:
    """Middle of the view and its scale, as an address says it; empty if it says nothing of use."""
    try:
        told = [float(each) for each in at.split(",")]
    except ValueError:
        return []
    return told if len(told) == 3 and told[2] > 0 else []


def _part_path(number: int, name: str) -> str:
    return f"/job/{number}/part/{quote(name)}"


def _soon(*addresses: str) -> None:
    """Have the browser ask for these while the page itself is still on its way."""
    lines = [f'<link rel="preload" as="fetch" crossorigin="anonymous" href="{each}">' for each in addresses]
    script = f'<script type="module" nonce="{frame.nonce()}">import "sagger-eye";</script>'
    ui.add_head_html("".join(lines) + script)


def _looks() -> None:
    ui.add_head_html('<link rel="stylesheet" href="/bench/pictures.css">')
