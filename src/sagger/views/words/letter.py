"""A paper that goes out of the house, in words: both its forms are laid out from this."""

from __future__ import annotations

from typing import NamedTuple


class LetterSection(NamedTuple):
    """A heading with a table, lines of text, or both."""

    heading: str
    head: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    numbers: tuple[int, ...] = ()  # columns that stand to the right
    strong: int = 0  # so many of the last rows are sums
    lines: tuple[str, ...] = ()


class Letter(NamedTuple):
    """An offer, or a certificate; templates call these by name."""

    title: str
    number: str
    sender: str
    receiver: str
    facts: tuple[tuple[str, str], ...]
    sections: tuple[LetterSection, ...]
    signed: tuple[str, ...]  # what is filled in by hand
    foot: str


def document(letter: Letter) -> dict[str, object]:
    """The same as JSON."""
    sections = [section._asdict() for section in letter.sections]
    return {"schema": "sagger-letter/1", **letter._asdict(), "sections": sections}
