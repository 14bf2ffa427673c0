"""How far a length of the drawing moves with the factors, with bleed and with soaking."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.goods.drawn_feature import DrawnFeature
from sagger.goods.reading import Reading
from sagger.statistics import chance

SIZES = ("each", "least", "most")  # rules whose rows are sizes
UPRIGHT = 0.02  # of a normal across the bed: a face less upright than that has no outline to bleed over
UP = 2
APART = 0.02  # of a column that other columns do not explain: less, and it is not told from them
BLEED, SOAK = 3, 4  # columns of the terms; before them the ratios along x, y, z


class LengthLever(NamedTuple):
    """A finished length: ratio x drawn summed over machine axes, bleed and soaking less what was taken off.

    Source
    ------
    Linear forms of the drawing's faces: they grow by factors along N . X, move out by bleed along the bed (an
    outside size by two, a bore by minus two, a step not at all), undersides down by soaking.
    """

    finished: ndarray  # float64 (3,): nominal length by machine axis [mm]
    drawn: ndarray  # float64 (3,): the same as printed, bleed and soaking not counted [mm]
    bleed: float  # finished mm for each mm of bleed
    soak: float  # finished mm for each mm of soaking
    taken: tuple[float, float]  # bleed and soaking that outlines were drawn inside by [mm]

    @property
    def length(self) -> float:
        """Nominal length [mm]."""
        return float(self.finished.sum())


class Printed(NamedTuple):
    """How a piece was printed."""

    turned: ndarray  # float64 (3, 3): part's axes to the machine's
    k: ndarray  # float64 (3,): oversize along machine axes
    taken: tuple[float, float]  # bleed and soaking that outlines were drawn inside by [mm]


def of_feature(one: DrawnFeature, printed: Printed) -> LengthLever | None:
    """Of a size of the drawing; None for angles, form and place, which say little of factors."""
    if one.rule not in SIZES or one.unit != "mm":
        return None
    row = one.weights.mean(axis=0)  # of a bore's local sizes their mean, which is that by least squares
    points, normals = one.points @ printed.turned.T, one.normals @ printed.turned.T
    finished = (row[:, None] * normals * points).sum(axis=0)
    wide = np.linalg.norm(normals[:, :UP], axis=1)
    out = (normals[:, :UP] ** 2 / printed.k[:UP]).sum(axis=1) / np.maximum(wide, UPRIGHT)
    under = np.maximum(-normals[:, UP], 0.0) / printed.k[UP]
    return LengthLever(
        finished=finished,
        drawn=finished * printed.k,
        bleed=float(row @ np.where(wide > UPRIGHT, out, 0.0)),
        soak=float(row @ under),
        taken=printed.taken,
    )


def of_length(axis: int, nominal_mm: float, printed: Printed) -> LengthLever:
    """Of an outside length along a machine axis."""
    along = np.eye(3)[axis] * nominal_mm
    return LengthLever(
        finished=along,
        drawn=along * printed.k,
        bleed=0.0 if axis == UP else 2.0 / float(printed.k[axis]),
        soak=1.0 / float(printed.k[axis]) if axis == UP else 0.0,
        taken=printed.taken,
    )


class Levered(NamedTuple):
    """A reading of a finished length, and how that length comes about."""

    reading: Reading
    lever: LengthLever


class SoughtTerms(NamedTuple):
    """Which terms are sought beside the three ratios."""

    bleed: bool
    soak: bool

    @property
    def picked(self) -> list[int]:
        """SoughtTerms of the whole table of terms."""
        return [0, 1, 2, *([BLEED] if self.bleed else []), *([SOAK] if self.soak else [])]


def averaged(measured: Sequence[Levered]) -> list[Levered]:
    """One row for each length of a piece, the mean of its readings with one instrument."""
    rows: dict[tuple[str, ...], list[Levered]] = {}
    for one in measured:
        of = one.reading
        key = (of.box, of.piece, of.kind, of.axis, of.feature, str(of.nominal), of.instrument)
        rows.setdefault(key, []).append(one)
    return [_mean(many) for many in rows.values()]


def _mean(many: list[Levered]) -> Levered:
    first, count = many[0], len(many)
    value = math.fsum(one.reading.value for one in many) / count
    u = chance.combined([one.reading.u for one in many]) / count
    return first._replace(reading=dataclasses.replace(first.reading, value=value, u=u))


def share(lever: LengthLever, axis: int) -> float:
    """Of a length, how much lies along an axis."""
    whole = float(np.abs(lever.finished).sum())
    return float(abs(lever.finished[axis])) / whole if whole else 0.0


def terms(mine: list[Levered]) -> ndarray:
    """Rows of every term, float64 (n, 5)."""
    return np.array([[*one.lever.drawn, one.lever.bleed, one.lever.soak] for one in mine])


def alone(mine: list[Levered], axis: int) -> bool:
    """Whether lengths along an axis can be told from those along the others."""
    lengths = terms(mine)[:, :BLEED]
    return _apart(lengths[:, axis], np.delete(lengths, axis, axis=1))


def told(mine: list[Levered]) -> SoughtTerms:
    """Which of bleed and soaking can be told from the rest."""
    table = terms(mine)
    bleed = _apart(table[:, BLEED], table[:, :BLEED])
    rest = table[:, : BLEED + 1] if bleed else table[:, :BLEED]
    return SoughtTerms(bleed, _apart(table[:, SOAK], rest))


def _apart(column: ndarray, others: ndarray) -> bool:
    size = float(np.linalg.norm(column))
    left = column - others @ np.linalg.lstsq(others, column, rcond=None)[0]
    return size > 0 and float(np.linalg.norm(left)) > APART * size
