"""What a reader is asked for, and what it gives, whatever the format."""

from __future__ import annotations

from typing import NamedTuple

from sagger.goods.drawing import Drawing
from sagger.goods.finding import Finding
from sagger.goods.good import good
from sagger.goods.shape import Body

CHORD_MM = 0.01  # largest distance of a triangle from the exact surface
SECONDS = 60.0  # of processor time


class Wish(NamedTuple):
    """How a file is to be read."""

    chord_mm: float = CHORD_MM
    seconds: float = SECONDS


@good
class Read:
    """What a reader makes of a file."""

    bodies: tuple[Body, ...]
    unit: str  # that the file names; "" if none
    drawing: Drawing | None = None
    findings: tuple[Finding, ...] = ()
