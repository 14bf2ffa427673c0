"""Lines of a drawing with the chance that they are met, in words: for print and page alike."""

from __future__ import annotations

from collections.abc import Iterator

from sagger.goods.planned_quote import PlanLine
from sagger.goods.promised import LinePromise
from sagger.views.wording import digits
from sagger.views.words import odds

HEAD = ("No.", "what", "allowed", "expected", "chance inside", "spoils alone", "doubt comes from")
ENOUGH = 0.95  # lines met less often are told one by one
TOLD = 8


def row(line: PlanLine) -> tuple[str, ...]:
    """Number, what, limits, value expected, chance, pieces spoilt alone, and where doubt comes from."""
    return (
        str(line.line),
        _named(line.what, line.features),
        limits(line.nominal, line.lower, line.upper, line.unit),
        f"{_figure(line.expected)} (u {digits(line.u, 2)})",
        odds.percent(line.chance_percent / 100),
        odds.percent(line.alone_percent / 100),
        ", ".join(f"{share.name} {share.percent:.0f} %" for share in line.shares[:2]) or "nothing known",
    )


def told(lines: list[LinePromise]) -> Iterator[str]:
    """Lines that are met too seldom, worst first, and how many there are beside them."""
    weak = sorted((line for line in lines if line.chance < ENOUGH), key=lambda line: line.chance)
    for line in weak[:TOLD]:
        most = f", mostly {line.shares[0][0]}" if line.shares else ""
        yield (
            f"  {line.line} {_named(line.what, line.features)} "
            f"{limits(line.nominal, line.lower, line.upper, line.unit)}: met by {odds.percent(line.chance)}, "
            f"alone spoils {odds.percent(line.alone)}{most}"
        )
    more = len(weak) - TOLD
    if more > 0:
        yield f"  and {more} more below {ENOUGH:.0%}, see plan.json"


def limits(nominal: float | None, lower: float, upper: float, unit: str) -> str:
    """What is allowed: two ends of a size, the width of a zone."""
    sign = "°" if unit == "deg" else f" {unit}"
    return f"{_figure(upper)}{sign}" if nominal is None else f"{_figure(lower)} to {_figure(upper)}{sign}"


def _named(what: str, features: int) -> str:
    return f"{features} × {what}" if features > 1 else what


def _figure(value: float) -> str:
    return f"{value:.4f}".rstrip("0").rstrip(".")
