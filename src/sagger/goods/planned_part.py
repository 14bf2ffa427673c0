"""A part as a plan is read again: what was asked of it, by the keys of plan.json."""

from __future__ import annotations

from sagger.goods.good import good

Row = tuple[float, ...]


@good
class PlanTolerance:
    """± of every size of a part, or a class of ISO 2768."""

    kind: str
    plus_minus_mm: float | None = None
    plus_minus_percent: float | None = None
    grade: str | None = None


@good
class PlanSize:
    """A dimension of the drawing."""

    name: str
    kind: str
    unit: str
    nominal: float | None
    limits: Row | None


@good
class PlanZone:
    """A geometric tolerance of the drawing."""

    name: str = ""  # "" in plans of earlier editions
    kind: str
    limits: Row | None
    modifiers: tuple[str, ...]


@good
class PlanDrawing:
    dimensions: tuple[PlanSize, ...]
    tolerances: tuple[PlanZone, ...]


@good
class PlanPart:
    letter: str
    name: str
    quantity: int
    due: str  # "" = no date was asked for
    extent_mm: Row
    drawing_number: str = ""
    revision: str = ""
    tolerance: PlanTolerance | None = None  # None in plans of earlier editions
    drawing: PlanDrawing | None = None  # None where there is none, and in plans of earlier editions
