"""The traveller: what hangs on the box on its way through the cell, as a page and as a PDF of two sheets."""

from __future__ import annotations

import base64
import functools
import io
import json
import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from sagger.goods.caution import Caution
from sagger.goods.good import good
from sagger.goods.job import Build, Job
from sagger.stations import layers
from sagger.views import bed, chart, layer
from sagger.views.sheet import Weak, content, rooms, shown_layer

TEMPLATES = Path(__file__).parent / "templates"
CROP_DROPS = (64, 40)
PAGES_MOST = 2


@good
class Pictures:
    """PNG bytes for one box."""

    corner: bytes
    above: bytes
    layer: bytes
    crop: bytes


def sheet(
    job: Job,
    box_index: int,
    cautions: Sequence[Caution],
    weak: Sequence[Weak],
    plan_digest: str,
    pictures: Pictures | None = None,
) -> tuple[str, bytes]:
    """The traveller of one box, self-contained.

    Parameters
    ----------
    job : Job
        As the line leaves it.
    box_index : int
        Which box, from 0.
    cautions : sequence of Caution
        The ones that material and route call for.
    weak : sequence of 5 texts each
        Figures that rest on memory or assumption: card, figure, as printed, standing, source.
    plan_digest : str
        Of plan.json, so that paper and plan can be matched.
    pictures : Pictures, optional
        Drawn here if not given.

    Returns
    -------
    html : str
        One page with pictures inlined and a print style.
    pdf : bytes
        The same content on A4; equal input gives equal bytes.
    """
    build = job.builds[box_index]
    shots = pictures or photograph(build)
    figures = {"corner": shots.corner, "above": shots.above, "layer": shots.layer, "crop": shots.crop}
    figures["cure"] = chart.cure(build.cured).encode()
    figures["qr"] = _qr(f"{job.order.name} box {build.layout.number} plan {plan_digest}")
    if job.sintered:
        figures["chart"] = chart.furnace(job.sintered).encode()
    words: dict[str, Any] = {}
    pdf = b""
    for room in rooms(build):
        words = content(job, box_index, cautions, weak, plan_digest, room)
        pdf = _pdf(words, figures)
        if _pages(pdf) <= PAGES_MOST:
            break
    return _html(words, figures), pdf


def photograph(build: Build) -> Pictures:
    """The box from a corner and from above, and its fullest layer, whole and at drop scale."""
    drops = layers.sheet(layers.press(build.stack), shown_layer(build)).runs
    window = layer.edge(drops, *CROP_DROPS)
    pitch_mm = build.stack.pitch_mm
    return Pictures(
        corner=bed.picture(build.layout, 1400, 760, labels=True),
        above=bed.picture(build.layout, 1100, 680, bed.ABOVE, labels=True),
        layer=layer.picture(drops, pitch_mm, 1100, window),
        crop=layer.crop(drops, pitch_mm, window, 12),
    )


def _qr(text: str) -> bytes:
    import segno

    out = io.BytesIO()
    segno.make_qr(text, error="m").save(out, kind="svg", border=2, xmldecl=False, svgns=True)
    return out.getvalue()


def _html(words: Mapping[str, Any], figures: Mapping[str, bytes]) -> str:
    inlined = {name: _data_uri(content) for name, content in figures.items()}
    return str(_page().render(dict(words) | {"pictures": inlined}))


@functools.cache
def _page() -> Any:
    import jinja2

    loader = jinja2.FileSystemLoader(TEMPLATES)
    house = jinja2.Environment(
        loader=loader, autoescape=True, undefined=jinja2.StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    return house.get_template("traveller.html.j2")


def _data_uri(content: bytes) -> str:
    kind = "image/png" if content.startswith(b"\x89PNG") else "image/svg+xml"
    return f"data:{kind};base64,{base64.b64encode(content).decode()}"


def _pdf(words: Mapping[str, Any], figures: Mapping[str, bytes]) -> bytes:
    import typst

    data = dict(words) | {"pictures": {name: list(content) for name, content in figures.items()}}
    pdf = typst.compile(
        (TEMPLATES / "traveller.typ").read_bytes(),
        sys_inputs={"data": json.dumps(data)},
        font_paths=_fonts(),
        ignore_system_fonts=True,
        timestamp=0,
    )
    assert isinstance(pdf, bytes)
    return pdf


def _pages(pdf: bytes) -> int:
    """How many pages a PDF of typst's has: it begins with the tree of pages, uncompressed."""
    found = re.search(rb"/Type\s*/Pages\s*/Count\s+(\d+)", pdf)
    return int(found[1]) if found else 0


@functools.cache
def _fonts() -> Any:
    """Typst's own fonts, looked up once; the same on every machine."""
    import typst

    return typst.Fonts(include_system_fonts=False)
