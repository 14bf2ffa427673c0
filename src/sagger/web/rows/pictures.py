"""The pictures of a job: what stands around them, and what of their address is of use."""

from __future__ import annotations

from urllib.parse import quote

from markupsafe import Markup

from sagger.web import markup

FOLLOWED = "By {} finite elements, standing on its setter. What the card does not know comes on top."
DENSITY = Markup(
    '<h2>Green density over the bed</h2><figure class="chart">'
    '<img alt="Map of green density from above" src="{}">'
    "<figcaption>From above, by the map that is in force: orange where powder lies denser than the mean, "
    "blue where looser. Dots are the places of the coupons it was learnt from, with their density over the "
    "map's reference, %.</figcaption></figure>"
)
NOT_YET = "There is nothing to see yet: it comes once the job is planned this far."
WORDS = {"bed": "the box", "layers": "layers", "part": "parts"}  # of each picture's page


def links(job: int, here: str, box: int) -> Markup:
    """From one picture to the others, of the same box, and back."""
    query = f"?box={box}" if box > 1 else ""
    others = [
        markup.link(f"/job/{job}/{name}{'' if name == 'part' else query}", words)
        for name, words in WORDS.items()
        if name != here
    ]
    back = markup.link(f"/job/{job}", "Back to the route")
    return Markup('<p class="ways">{} &nbsp; See also: {}</p>').format(back, Markup(", ").join(others))


def boxes(job: int, here: str, box: int, count: int) -> Markup:
    """The way from one box of a job to the others; nothing if there is one only."""
    if count < 2:
        return Markup("")
    lines = [
        Markup("<strong>box {}</strong>").format(number)
        if number == box
        else markup.link(f"/job/{job}/{here}?box={number}", f"box {number}")
        for number in range(1, count + 1)
    ]
    return Markup('<p class="boxes">{}</p>').format(Markup(" ").join(lines))


def missing_box(box: int, count: int) -> str:
    """Why a box is not shown, "" if it is there."""
    if 1 <= box <= count:
        return ""
    return f"This job has {count} boxes, there is no box {box}." if count else NOT_YET


def parts(job: int, names: list[str]) -> Markup:
    """A link to the page of each part."""
    return markup.items(markup.link(f"/job/{job}/part/{quote(name)}", name) for name in names)


def first_layer(asked: int, count: int) -> int:
    """The layer to begin with, from 1: the one asked for, or the middle one."""
    return min(max(asked or count // 2, 1), count)


def place(at: str) -> list[float]:
    """Middle of the view and its scale, as an address says it; empty if it says nothing of use."""
    try:
        numbers = [float(word) for word in at.split(",")]
    except ValueError:
        return []
    return numbers if len(numbers) == 3 and numbers[2] > 0 else []
