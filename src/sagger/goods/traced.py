"""Genealogy: all that lies behind a piece, and all that a lot of powder went into."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from sagger.goods.booked import PrintedFrom
from sagger.goods.good import good
from sagger.goods.reading import Reading


class TracedPiece(NamedTuple):
    """A piece as it was booked with its box."""

    id: int
    entry: int  # of the book
    box: str
    label: str
    part: str
    number: int
    coupon: bool
    x_mm: float | None
    y_mm: float | None
    z_mm: float | None


class TracedBox(NamedTuple):
    """The box that a piece was printed in."""

    id: int
    entry: int
    name: str
    job: int | None
    number: int
    powder: str
    facts: PrintedFrom


class PowderStep(NamedTuple):
    """How a lot or a box came by its powder."""

    place: str  # lot or box
    name: str
    what: str  # kind of movement
    entry: int
    kg: float
    sources: dict[str, float]  # kg by name of a lot or box


class TracedRun(NamedTuple):
    """A furnace run that a piece went through, and where it stood."""

    id: int
    entry: int
    name: str
    furnace: str
    programme: str
    load: str
    box: str
    piece: str
    tray: str
    place: str
    x_mm: float | None
    y_mm: float | None
    z_mm: float | None


class TracedReading(NamedTuple):
    entry: int
    reading: Reading


class TracedWork(NamedTuple):
    """A work of the plan."""

    verb: str
    edition: str
    output: str  # digest


class EntryHead(NamedTuple):
    """Who entered something into the book, and when."""

    id: int
    what: str
    person: str
    at: str
    note: str
    corrects: int | None
    digest: str


@good
class Ancestry:
    """All that lies behind one piece."""

    piece: TracedPiece
    box: TracedBox
    powder: tuple[PowderStep, ...]  # from the charge back to the lots that were received
    furnace: tuple[TracedRun, ...]
    readings: tuple[TracedReading, ...]
    works: tuple[TracedWork, ...]
    entries: Mapping[int, EntryHead]  # every entry that one of these rests on


class PieceInBox(NamedTuple):
    """A piece of a booked box, and the furnace run that it went through."""

    box: str
    label: str
    part: str
    number: int
    coupon: bool
    x_mm: float | None
    y_mm: float | None
    z_mm: float | None
    load: str  # "" = none


@good
class Offspring:
    """All that the powder of a lot went into."""

    lot: str
    lots: tuple[str, ...]
    boxes: tuple[str, ...]
    pieces: tuple[PieceInBox, ...]
