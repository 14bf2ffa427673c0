"""What is promised of each line of a drawing."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy import ndarray

from sagger.goods.drawing import Dimension, GeometricTolerance
from sagger.goods.drawn_feature import DrawnFeature
from sagger.goods.green import Green
from sagger.goods.promised import LinePromise
from sagger.stations.promise.raising import PromiseCase
from sagger.stations.promise.sampled import PieceVerdict, variances
from sagger.stations.promise.source import DrawnLines, Lying
from sagger.statistics import tolerance
from sagger.statistics.lines import EACH, LEAST, MOST, RANGE, ROUND

SURE = 0.99  # share of pieces for which stock is enough
ENOUGH = 0.95  # a line met less often than this is one to cut, or to agree otherwise; common practice


def lines(case: PromiseCase, verdict: PieceVerdict) -> Iterator[LinePromise]:
    """One promise for each line that is evaluated; doubts are those of the orientation of most pieces."""
    part, drawn = case.doubted, case.doubted.drawn
    if drawn is None:
        return
    most = max(part.lying, key=lambda lying: lying.share)
    moved = variances(most)
    sizes = len(part.room.names)
    for at, number in enumerate(drawn.numbers, start=sizes):
        features = np.flatnonzero(drawn.features.line == at)
        values = [_value(drawn, most, int(feature)) for feature in features]
        worst = int(np.argmax([value.used for value in values]))
        asked = case.green.part.asked[int(features[worst]) - sizes]
        total = {name: float(variance[values[worst].row]) for name, variance in moved.items()}
        u = float(np.sqrt(sum(total.values())))
        chance = float(verdict.inside[at])
        yield LinePromise(
            part=part.part,
            line=number,
            what=_what(case.green, number),
            features=len(features),
            unit=asked.unit,
            nominal=asked.nominal if drawn.features.rule[features[worst]] in (EACH, LEAST, MOST) else None,
            lower=asked.lower,
            upper=asked.upper,
            expected=values[worst].value,
            u=u,
            shares=_shares(total),
            operator=asked.operator,
            chance=chance,
            passed=float(verdict.at_bench[at]),
            alone=float(verdict.alone[at]),
            stock_mm=_stock(case, asked, u, values[worst]) if chance < ENOUGH else None,
        )


class _Value:
    """What a feature comes to in the middle of all doubts, and the row that decides it."""

    __slots__ = ("row", "used", "value")

    def __init__(self, value: float, used: float, row: int):
        self.value, self.used, self.row = value, used, row


def _value(drawn: DrawnLines, lying: Lying, feature: int) -> _Value:
    """`used` is how far it is from the middle of its limits, in half their width."""
    asked = drawn.features
    first, end, rule = int(asked.first[feature]), int(asked.end[feature]), int(asked.rule[feature])
    rows, lower, upper = lying.expected[first:end], asked.lower[feature], asked.upper[feature]
    if rule in (EACH, LEAST, MOST):
        off = np.abs(rows - (lower + upper) / 2)
        row = {EACH: np.argmax(off), LEAST: np.argmin(rows), MOST: np.argmax(rows)}[rule]
        return _Value(float(rows[row]), float(off[row] / max((upper - lower) / 2, 1e-12)), first + int(row))
    spread = _spread(lying, first, end)
    if rule == RANGE:
        value = float(np.ptp(rows))
    elif rule == ROUND:
        value = 2 * float(np.linalg.norm(rows.reshape(-1, 2), axis=1).max())
    else:
        value = 2 * float(np.abs(rows).max())
    return _Value(value, (value + float(spread.max())) / max(upper, 1e-12), first + int(np.argmax(spread)))


def _spread(lying: Lying, first: int, end: int) -> ndarray:
    """Variance of rows, all sources together."""
    return np.asarray(sum(variance[first:end] for variance in variances(lying).values()))


def _shares(total: dict[str, float]) -> tuple[tuple[str, float], ...]:
    whole = sum(total.values())
    named = sorted(((name, part / whole) for name, part in total.items() if part), key=lambda one: -one[1])
    return tuple(named) if whole else ()


def _stock(case: PromiseCase, asked: DrawnFeature, u: float, value: _Value) -> float | None:
    """For a face cut instead; of a zone half of its own value is how far its face is off [mm]."""
    if asked.unit != "mm":
        return None
    chip = case.of.cell.shop.chip
    off = 0.0 if asked.rule in ("each", "least", "most") else value.value / 2
    return tolerance.stock(chip.value * 1e3 if chip is not None else 0.0, off, u, SURE)


def _what(green: Green, number: int) -> str:
    drawing = green.part.drawing
    asked: tuple[Dimension | GeometricTolerance, ...] = ()
    if drawing is not None:
        asked = (*drawing.dimensions, *drawing.tolerances)
    line = asked[number - 1]
    return f"{line.name}, {line.kind}" if line.name else line.kind
