"""Texts and pictures onto paper: one HTML page with everything in it, or a PDF that is the same each time."""

from __future__ import annotations

import base64
import functools
import json
import re
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from sagger.goods.good import plain

if TYPE_CHECKING:
    import jinja2
    import typst

TEMPLATES = Path(__file__).parent / "templates"


def page(template: str, texts: Mapping[str, object], figures: Mapping[str, bytes]) -> str:
    """The page that a template makes of texts and of pictures, PNG or SVG; nothing is loaded from outside."""
    inlined = {name: _data_uri(content) for name, content in figures.items()}
    return str(_house().get_template(template).render(dict(texts) | {"pictures": inlined}))


def pdf(template: str, texts: Mapping[str, object], figures: Mapping[str, bytes]) -> bytes:
    """The same as a PDF; equal input gives equal bytes."""
    import typst

    plainly = {name: plain(value) for name, value in texts.items()}
    pictures = {name: list(content) for name, content in figures.items()}
    made = typst.compile(
        (TEMPLATES / template).read_bytes(),
        sys_inputs={"data": json.dumps(plainly | {"pictures": pictures})},
        font_paths=_fonts(),
        ignore_system_fonts=True,
        timestamp=0,
    )
    assert isinstance(made, bytes)
    return made


def pages(made: bytes) -> int:
    """How many pages a PDF of typst's has: it begins with the tree of pages, uncompressed."""
    found = re.search(rb"/Type\s*/Pages\s*/Count\s+(\d+)", made)
    return int(found[1]) if found else 0


@functools.cache
def _house() -> jinja2.Environment:
    import jinja2

    loader = jinja2.FileSystemLoader(TEMPLATES)
    return jinja2.Environment(
        loader=loader, autoescape=True, undefined=jinja2.StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )


def _data_uri(content: bytes) -> str:
    kind = "image/png" if content.startswith(b"\x89PNG") else "image/svg+xml"
    return f"data:{kind};base64,{base64.b64encode(content).decode()}"


@functools.cache
def _fonts() -> typst.Fonts:
    """Typst's own fonts, looked up once; the same on every machine."""
    import typst

    return typst.Fonts(include_system_fonts=False)
