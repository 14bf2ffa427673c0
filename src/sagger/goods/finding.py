"""What a step noticed: how bad, what, where, against which limit, and what to do."""

from __future__ import annotations

from sagger.goods.good import good

LEVELS = ("ok", "look", "stop")


@good
class Finding:
    level: str  # one of LEVELS: fine; a person should look; the process cannot do it
    what: str  # a short name that stays the same, e.g. "thin wall"
    text: str  # one sentence for the engineer, with numbers and units
    value: float | None = None  # what was found, in `unit`
    limit: float | None = None  # what it was compared with, in `unit`
    unit: str = ""
    at_mm: tuple[float, float, float] | None = None  # place on the part, in the part's own axes
    source: str = ""  # where the limit comes from: a card's figure, a standard, "common practice, no source"
    remedy: str = ""
