"""A box that was really printed, and a furnace run that really went, as the book holds them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from sagger.goods.good import good

Place = tuple[float, float, float]


@good
class BookedPiece:
    label: str  # what readings call it; once in a box
    part: str  # name of the part, or kind of coupon
    number: int = 1  # which copy in the order, from 1
    coupon: bool = False
    at_mm: Place | None = None  # centre in the box, machine axes


class PlannedFactors(NamedTuple):
    """Oversize factors as the plan of a booked box says them."""

    k: tuple[float, ...]  # along machine x, y, z
    u: tuple[float, ...]
    material: str
    origin: str
    lot: str = ""


@good
class PrintedFrom:
    """What a booked box was printed from: its plan, or factors that a person gave by hand."""

    order: str = ""  # "" = from no plan
    edition: str = ""  # of the program
    cards: Mapping[str, str] | None = None  # name by kind
    factors: PlannedFactors | None = None
    planned_lot: str = ""
    k: Place | None = None  # oversize factors of all pieces, where no plan says them
    less_mm: Place | None = None  # by how much outlines were drawn inside


@good
class BookedBox:
    name: str  # what readings call it; once in a shop
    powder: str  # card
    pieces: tuple[BookedPiece, ...]
    job: int | None = None  # of the plan it was printed from
    number: int = 1  # which box of that job
    facts: PrintedFrom


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
