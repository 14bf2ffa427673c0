"""Findings as a page takes them."""

from __future__ import annotations

from typing import NamedTuple

from sagger.goods.finding import Finding
from sagger.goods.good import plain
from sagger.goods.plain import Table


class FindingLine(NamedTuple):
    """A finding as documents tell it."""

    level: str
    what: str
    text: str
    remedy: str


def line(noticed: Finding) -> FindingLine:
    """A finding without figures and places."""
    return FindingLine(noticed.level, noticed.what, noticed.text, noticed.remedy)


def finding(noticed: Finding) -> Table:
    """A finding as a page takes it, without the marks around what is to be typed."""
    return {
        "level": noticed.level,
        "what": noticed.what,
        "text": noticed.text.replace("`", ""),
        "remedy": noticed.remedy.replace("`", ""),
        "source": sources(noticed.source),
        "at_mm": plain(noticed.at_mm) if noticed.at_mm else None,
        "also_mm": plain(noticed.also_mm),
    }


def sources(text: str) -> str:
    """Sources with commas between, each named once."""
    return ", ".join(dict.fromkeys(part.strip() for part in text.split(",")))
