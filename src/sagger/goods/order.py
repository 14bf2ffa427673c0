"""What was asked for."""

from __future__ import annotations

from sagger.goods.good import good


@good
class Tolerance:
    """`kind` is "mm" (±`value` mm), "percent" (±`value` %) or "iso2768" (class `grade`: f, m, c or v)."""

    kind: str
    value: float = 0.0
    grade: str = ""
    steps: tuple[tuple[float, float, float], ...] = ()  # iso2768: (over mm, up to mm, ± mm), set by the desk


@good
class Request:
    """One part of an order."""

    name: str
    file: str  # name of the part file as the customer knows it
    unit: str  # "mm", "um", "cm", "m", "in" for files that carry none; "" = not said
    quantity: int
    tolerance: Tolerance
    orientations: str = "upright"  # "fixed", "upright" (quarter turns about z), "free" (24 turns)
    rotation_deg: tuple[float, float, float] = (0.0, 0.0, 0.0)  # about x, then y, then z
    scale: float = 1.0  # of the file, before anything else; 1 unless the order says so
    due: str = ""  # ISO date, empty if none


@good
class Choices:
    """What the engineer may decide for a job; None = from the cards."""

    layer_um: float | None = None
    saturation: float | None = None
    gap_mm: float | None = None
    phase_jitter: bool | None = None  # None = on at 600 dpi and below
    alloy: str = ""  # sand only: the metal to be cast, whose contraction sizes the cavity
    seed: int = 1


@good
class Order:
    name: str
    shop: str
    start: str  # ISO date and time at which the first box can start
    requests: tuple[Request, ...]
    choices: Choices


@good
class CardNames:
    """Which card of each kind a job uses; furnace "" for sand."""

    powder: str
    binder: str
    head: str
    box: str
    oven: str
    furnace: str
    shop: str
