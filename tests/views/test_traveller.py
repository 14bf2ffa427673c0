"""The traveller: on two sheets at most, complete, the same twice."""

from __future__ import annotations

import base64
import dataclasses
import re
from collections.abc import Callable
from html.parser import HTMLParser

import pypdfium2
import pytest
import trimesh
from PIL import Image

from sagger.goods.caution import Caution
from sagger.goods.finding import Finding
from sagger.goods.job import Job
from sagger.views import traveller
from sagger.views.bed import png
from sagger.views.traveller import Pictures

pytestmark = pytest.mark.slow

DIGEST = "0123456789abcdef" * 2
CAUTIONS = [
    Caution(
        key=f"hazard {number}",
        step="print",
        text="A usual caution of ordinary length, long enough to run over the end of a line. " * 2,
        defer_to="NFPA 660 and other rules, edition in force",
        source="hand",
        standing="memory" if number else "read",
    )
    for number in range(14)
]
WEAK = [(f"card-{n % 7}", f"room.some_figure_{n}", "12.5 cur/kg", "assumed", "hand") for n in range(110)]


@pytest.fixture(scope="module")
def sheet(job: Job) -> tuple[str, bytes]:
    return traveller.sheet(job, 0, CAUTIONS, WEAK, DIGEST)


def text_of(pdf: bytes) -> list[str]:
    """Text of each page, white space made even."""
    pages = pypdfium2.PdfDocument(pdf)
    return [" ".join(page.get_textpage().get_text_range().split()) for page in pages]


class Page(HTMLParser):
    """Text, and every address a page points at."""

    def __init__(self, html: str):
        super().__init__()
        self.said: list[str] = []
        self.links: list[str] = []
        self.feed(html)

    def handle_data(self, data: str) -> None:
        self.said.append(data)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.links += [value or "" for name, value in attrs if name in ("src", "href")]


SAID = [
    "by-hand",
    "box 1 of 1",
    DIGEST,
    "348 layers of 50.0 µm",
    "23.40 × 11.80 × 9.60",
    "23.60 × 11.70 × 9.60",
    "20.00 × 10.00 × 8.00",
]
SAID += [
    "Planning aid, not a safety assessment. Follow the SDS, the equipment manual, your risk assessment",
]
SAID += [
    "hold 5 h 33 min",
    "2.0 K/min to 400 °C",
    "90.0 % (z)",
    "hazard 13",
    "some figure 109 12.5 EUR/kg (a)",
    "thin wall",
]


@pytest.mark.parametrize("words", SAID)
def test_paper_and_page_say_the_same(sheet: tuple[str, bytes], words: str) -> None:
    html, pdf = sheet
    assert words in " ".join(" ".join(Page(html).said).split())
    assert words in " ".join(text_of(pdf))


def test_the_pdf_is_two_sheets_and_the_same_twice(job: Job, sheet: tuple[str, bytes]) -> None:
    assert len(text_of(sheet[1])) == 2
    assert traveller.sheet(job, 0, CAUTIONS, WEAK, DIGEST) == sheet


def test_the_page_needs_nothing_from_outside(sheet: tuple[str, bytes]) -> None:
    page = Page(sheet[0])
    assert len(page.links) == 7
    for link in page.links:
        kind, _, body = link.partition(";base64,")
        content = base64.b64decode(body, validate=True)
        assert content.startswith({"data:image/png": b"\x89PNG", "data:image/svg+xml": b"<svg"}[kind])
    assert not re.search(r"url\(|@import|<script", sheet[0])


@pytest.mark.parametrize(("words", "parts_left", "looks_left"), [(6, 6, 52), (30, 8, 56)])
def test_a_crowded_box_still_fits_two_sheets(
    make_job: Callable[..., Job], words: int, parts_left: int, looks_left: int
) -> None:
    meshes = tuple(trimesh.creation.box((2 + n % 3, 3, 4)) for n in range(20))
    job = make_job(meshes, 2)
    finding = Finding(level="look", what="thin wall", text="A wall is near the limit. " * words)
    parts = tuple(dataclasses.replace(part, findings=(finding,) * 3) for part in job.parts)
    _, pdf = traveller.sheet(dataclasses.replace(job, parts=parts), 0, CAUTIONS, WEAK, DIGEST)
    pages = text_of(pdf)
    assert len(pages) == 2
    assert f"and {parts_left} more parts in plan.json" in " ".join(pages)
    assert f"and {looks_left} more findings in plan.json" in " ".join(pages)


def test_a_hostile_name_is_only_a_name(job: Job) -> None:
    name = "<script>alert(1)</script> #panic[x] $y$ *b* \\"
    order = dataclasses.replace(job.order, name=name)
    html, pdf = traveller.sheet(dataclasses.replace(job, order=order), 0, [], [], DIGEST)
    assert "<script>" not in html
    assert name in " ".join(text_of(pdf))
    assert name in " ".join(Page(html).said)


def test_sand_has_no_furnace_on_its_sheet(job: Job) -> None:
    html, pdf = traveller.sheet(dataclasses.replace(job, sintered=None), 0, [], [], DIGEST)
    assert "Debind" not in html
    assert "Debind" not in " ".join(text_of(pdf))
    assert len(text_of(pdf)) <= 2


def test_pictures_given_are_the_ones_shown(job: Job) -> None:
    shot = png(Image.new("L", (4, 4)))
    html, _ = traveller.sheet(
        job, 0, [], [], DIGEST, Pictures(corner=shot, above=shot, layer=shot, crop=shot)
    )
    assert html.count(base64.b64encode(shot).decode()) == 4
