"""What a step noticed: how bad, what, where, against which limit, and what to do.

A step writes `stop`, `loss`, `risk`, `advice` or `ok`, the weightiest first: that is also the order of lists.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable
from typing import NamedTuple

from sagger.goods.good import good, holds

LEVELS = ("ok", "look", "stop")
Place = tuple[float, float, float]


@good
class Finding:
    """What a step noticed."""

    level: str = holds("fine; a person should look; the process cannot do it", one_of=LEVELS)
    what: str = holds("short name that stays the same")  # e.g. "thin wall"
    text: str = holds("one sentence with numbers and units")
    value: float | None = holds("what was found, in `unit`", default=None)
    limit: float | None = holds("what it was compared with, in `unit`", default=None)
    unit: str = holds("of value and limit", default="")
    at_mm: Place | None = holds("place on the part, in the part's own axes", "mm", default=None)
    # a figure of a card, a standard, or "common practice, no source"
    source: str = holds("where the limit comes from", default="")
    remedy: str = holds("what to do", default="")
    stake: int = 0  # of a look: 0 nothing but trouble, 1 that pieces are not as asked, 2 that they are lost
    also_mm: tuple[Place, ...] = ()  # further places of the same, each less bad
    part: int | None = None  # which of the order's parts it is about, where the step looks at several

    @property
    def weight(self) -> int:
        """How much hangs on it: 0 where all is well, 4 where the process cannot do it."""
        return {"ok": 0, "look": 1 + self.stake, "stop": 4}[self.level]


class Against(NamedTuple):
    """A figure, what it is compared with, both in `unit`, and where that limit comes from."""

    value: float | None = None
    limit: float | None = None
    unit: str = ""
    source: str = ""


NOTHING = Against()
PRACTICE = "common practice, no source"  # as the source of a limit


def ok(
    topic: str, text: str, against: Against = NOTHING, remedy: str = "", *, at_mm: Place | None = None
) -> Finding:
    """All is well."""
    return Finding(level="ok", what=topic, text=text, at_mm=at_mm, remedy=remedy, **against._asdict())


def stop(
    topic: str, text: str, against: Against = NOTHING, remedy: str = "", *, at_mm: Place | None = None
) -> Finding:
    """The process cannot do it."""
    return Finding(level="stop", what=topic, text=text, at_mm=at_mm, remedy=remedy, **against._asdict())


def loss(
    topic: str,
    text: str,
    against: Against = NOTHING,
    remedy: str = "",
    *,
    at_mm: Place | None = None,
    unless: bool = False,
) -> Finding:
    """A person should look, or pieces are lost; well, and without remedy, if `unless` holds."""
    return _look(ok(topic, text, against, remedy, at_mm=at_mm), 2, unless)


def risk(
    topic: str,
    text: str,
    against: Against = NOTHING,
    remedy: str = "",
    *,
    at_mm: Place | None = None,
    unless: bool = False,
) -> Finding:
    """A person should look, or pieces may not come out as asked; well if `unless` holds."""
    return _look(ok(topic, text, against, remedy, at_mm=at_mm), 1, unless)


def advice(
    topic: str,
    text: str,
    against: Against = NOTHING,
    remedy: str = "",
    *,
    at_mm: Place | None = None,
    unless: bool = False,
) -> Finding:
    """A person should look, though no piece hangs on it; well if `unless` holds."""
    return _look(ok(topic, text, against, remedy, at_mm=at_mm), 0, unless)


def about(part: int, finding: Finding) -> Finding:
    """The finding, said of one of the order's parts."""
    return dataclasses.replace(finding, part=part)


def heaviest_first(findings: Iterable[Finding]) -> list[Finding]:
    """By weight, those of one weight in the order in which they came."""
    return sorted(findings, key=lambda finding: -finding.weight)


def _look(finding: Finding, stake: int, unless: bool) -> Finding:
    if unless:
        return dataclasses.replace(finding, remedy="")
    return dataclasses.replace(finding, level="look", stake=stake)
