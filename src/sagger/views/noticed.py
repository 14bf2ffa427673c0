"""Findings as a page takes them."""

from __future__ import annotations

from typing import Any

from sagger.goods.finding import Finding


def finding(found: Finding) -> dict[str, Any]:
    """A finding as a page takes it."""
    return {
        "level": found.level,
        "what": found.what,
        "text": found.text,
        "remedy": found.remedy,
        "source": found.source,
        "at_mm": list(found.at_mm) if found.at_mm else None,
    }
