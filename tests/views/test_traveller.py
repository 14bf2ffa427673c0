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

import drawn_shop
from sagger.goods.caution import Caution
from sagger.goods.finding import advice, loss, risk, stop
from sagger.goods.job import Job
from sagger.views.paper import inspection, traveller
from sagger.views.paper.traveller import Pictures
from sagger.views.pictures import marked
from sagger.views.pictures.bed import png

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
WEAK = [(f"card-{n % 7}", f"room.some_figure_{n}", "12.5 g/cm3", "assumed", "hand") for n in range(110)]


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
    "83 %, z 90 %",
    "hazard 13",
    "some figure 109 12.5 g/cm3 (a)",
    "thin wall",
]


def test_no_rate_hangs_on_the_box(job: Job) -> None:
    """What an hour costs is the office's business, in words and in print."""
    rates = [*WEAK[:2], ("plain-shop", "labour", "40 cur/h", "assumed", "hand")]
    html, pdf = traveller.sheet(job, 0, CAUTIONS, rates, DIGEST)
    for paper in (html, " ".join(text_of(pdf))):
        assert "some figure 1 12.5" in " ".join(paper.split())
        assert "labour" not in paper and "40 " + job.quote.currency not in paper


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
    text = "A wall is near the limit. " * words
    parts = tuple(
        dataclasses.replace(part, findings=tuple(risk("thin wall", f"{n}{m}: {text}") for m in range(3)))
        for n, part in enumerate(job.parts)
    )
    _, pdf = traveller.sheet(dataclasses.replace(job, parts=parts), 0, CAUTIONS, WEAK, DIGEST)
    pages = text_of(pdf)
    assert len(pages) == 2
    assert f"and {parts_left} more parts in plan.json" in " ".join(pages)
    assert f"and {looks_left} more findings in plan.json" in " ".join(pages)


def test_no_sheet_leaves_out_a_stop_or_a_way_to_lose_pieces(make_job: Callable[..., Job]) -> None:
    meshes = tuple(trimesh.creation.box((2 + n % 3, 3, 4)) for n in range(20))
    job = make_job(meshes, 2)
    light = tuple(advice(f"word {n}", "All of this could wait. " * 9) for n in range(9))
    thin = tuple(risk("thin wall", "A wall of 0.8 mm may break. " * 9) for _ in range(3))
    parts = [dataclasses.replace(part, findings=(*light, *thin)) for part in job.parts]
    tips = loss("orientation on setter", "As filed it tips over on its setter.")
    tall = stop("furnace height", "It stands 9 mm too high.")
    parts[17] = dataclasses.replace(parts[17], findings=(*light, *thin, tips))
    parts[18] = dataclasses.replace(parts[18], findings=(*light, *thin, tall, tips))
    html, pdf = traveller.sheet(dataclasses.replace(job, parts=tuple(parts)), 0, CAUTIONS, WEAK, DIGEST)
    for text in (" ".join(text_of(pdf)), " ".join(Page(html).said)):
        assert text.index("9 mm too high") < text.index("tips over") < text.index("0.8 mm may break")
        assert text.count("tips over") == 1  # both parts in one line
    assert len(text_of(pdf)) == 2


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


def test_the_inspection_table_bears_the_numbers_of_the_pictures(
    job: Job, make_job: Callable[..., Job]
) -> None:
    """A line of two bores has room for each; the same on paper and page, and pictures of the part beside."""
    own = dataclasses.replace(drawn_shop.block(), request=job.parts[0].request)
    drawn_job = dataclasses.replace(job, parts=(own, *job.parts[1:]))
    html, pdf = traveller.sheet(drawn_job, 0, CAUTIONS, WEAK, DIGEST)
    (table,) = inspection.tables(drawn_job, drawn_job.builds[0])
    lines = [row for row in table.rows if row.balloon[0].isdecimal()]
    assert [row.balloon for row in lines] == drawn_shop.NUMBERS
    assert [row.of_many for row in lines[:4]] == [False, True, True, False]
    assert lines[0].what.startswith("2 × ") and lines[1].limits == lines[0].limits == "7.9 to 8.1 mm"
    assert len(table.columns) == inspection.COLUMNS
    last = " ".join(text_of(pdf)[2:])
    page = " ".join(" ".join(Page(html).said).split())
    for words in (*drawn_shop.NUMBERS, "7.9 to 8.1 mm", "flatness", "seat", "Numbers are those of the"):
        assert words in last and words in page
    pictures = len(re.findall(r'alt="Part A [^"]*with the numbers', html))
    shown = marked.marked(own).pictures
    assert pictures == len(shown) > 0
    numbers = [mark.number for shot in shown for mark in shot.marks]
    assert sorted(numbers) == sorted(set(drawn_shop.NUMBERS) - {"1"})  # of two bores each has its own
