"""Learning from coupons: which piece a reading belongs to."""

from __future__ import annotations

from typing import Any

from sagger.geometry import dots


def label(text: str) -> tuple[dict[str, Any], list[str]]:
    """What the dots on a coupon say, as a document and as lines.

    Raises
    ------
    InputError
        If no label has these dots.
    """
    series, place = dots.told(text)
    document = {"schema": "sagger-label/1", "series": series, "place": place}
    return document, [f"series {series}, place {place}: its name ends in {series}-{place:02d}"]
