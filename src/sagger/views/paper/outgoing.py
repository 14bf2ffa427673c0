"""A paper that goes out of the house, as a page and as a PDF on A4."""

from __future__ import annotations

from sagger.views.paper import press
from sagger.views.words.letter import Letter


def sheet(letter: Letter) -> tuple[str, bytes]:
    """An offer or a certificate as one HTML page with a print style, and as PDF; equal input, equal bytes."""
    texts = letter._asdict() | {"sections": [section._asdict() for section in letter.sections]}
    return press.page("letter.html.j2", texts, {}), press.pdf("letter.typ", texts, {})
