"""A box that was really printed, and a furnace run that really went, as the book holds them."""

from __future__ import annotations

from typing import Any

from sagger.goods.good import good

Place = tuple[float, float, float]


@good
class BookedPiece:
    label: str  # what readings call it; once in a box
    part: str  # name of the part, or kind of coupon
    number: int = 1  # which copy in the order, from 1
    coupon: bool = False
    at_mm: Place | None = None  # centre in the box, machine axes


@good
class BookedBox:
    name: str  # what readings call it; once in a shop
    powder: str  # card
    pieces: tuple[BookedPiece, ...]
    job: int | None = None  # of the plan it was printed from
    number: int = 1  # which box of that job
    facts: dict[str, Any]  # what the plan says: factors, cards, editions; JSON


@good
class FiredPiece:
    box: str
    piece: str
    tray: str = ""
    place: str = ""  # name of a place, e.g. "front left"
    at_mm: Place | None = None  # in the furnace, its own axes


@good
class FurnaceRun:
    name: str
    furnace: str  # card
    pieces: tuple[FiredPiece, ...]
    programme: str = ""  # name or number of the programme or its trace
