"""Faces of sizes drawn elsewhere, so that a size comes out in the middle of its limits on average."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy import ndarray

from sagger.goods.green import Green
from sagger.goods.stack import DropRaster, Stack
from sagger.stations.promise.drawn_rows import DrawnRows
from sagger.stations.promise.source import Doubted, DrawnLines, Lying
from sagger.statistics.lines import EACH

LEVER = 0.2  # mm of size for 1 mm of its faces: with less they do not make it
WORTH_MM = 1e-3  # nearer to the middle nobody moves a face
MOST_MM = 1.0  # as an order takes it


class Offset(NamedTuple):
    """Faces of one line, and how far they go."""

    line: int  # of the drawing, from 1
    by_mm: float  # out of the material


class LineOffsets:
    """What moving faces of sizes does to all lines of a part, in the orientation of most of its pieces."""

    def __init__(self, green: Green, part: Doubted, drawn: DrawnLines, stack: Stack | DropRaster):
        most = max(part.lying, key=lambda lying: lying.share)
        self._rows, self._drawn, self._most = DrawnRows(green, most.turn, stack), drawn, most
        drawing = green.part.drawing
        self._sizes = drawing.dimensions if drawing is not None else ()

    def lines(self) -> list[int]:
        """Lines whose own faces make their size, of those that the promise counts."""
        sizes = [number for number in self._drawn.numbers if number <= len(self._sizes)]
        return [number for number in sizes if self._sizes[number - 1].unit == "mm"
                and abs(self._lever(number, number)) > LEVER]  # fmt: skip

    def needed(self, number: int) -> Offset | None:
        """What brings a size to the middle of its limits; None where it is there, or that is too far."""
        by = self._off(number) / self._lever(number, number)
        return Offset(number, by) if WORTH_MM < abs(by) <= MOST_MM else None

    def told(self, offset: Offset) -> float:
        """What to write in the order: with what is drawn so already [mm]."""
        return offset.by_mm + (self._sizes[offset.line - 1].offset_mm or 0.0)

    def together(self, numbers: Sequence[int]) -> list[Offset]:
        """What brings all of them nearest, in widths of their limits, where faces are shared or not."""
        weight = np.array([1 / self._width(number) for number in numbers])
        levers = np.array([[self._lever(row, column) for column in numbers] for row in numbers])
        off = np.array([self._off(number) for number in numbers])
        by = np.linalg.lstsq(levers * weight[:, None], off * weight, rcond=1e-6)[0]
        return [Offset(number, float(one)) for number, one in zip(numbers, by, strict=True)
                if WORTH_MM < abs(one) <= MOST_MM]  # fmt: skip

    def moved(self, part: Doubted, offsets: Sequence[Offset]) -> Doubted:
        """The part with these faces drawn so, whatever lines they are of."""
        shift = sum((one.by_mm * self._unit(one.line) for one in offsets), np.zeros(len(self._rows.spans)))

        def drawn_so(lying: Lying) -> Lying:
            expected = lying.expected.copy()
            expected[len(expected) - lying.behind :] += shift
            return lying._replace(expected=expected)

        return part._replace(lying=tuple(map(drawn_so, part.lying)), others=())

    def _unit(self, number: int) -> ndarray:
        """Every row where the faces of a line go out by 1 mm."""
        return self._rows.offset(dict.fromkeys(self._sizes[number - 1].faces, 1.0))

    def _of(self, number: int) -> list[slice]:
        """Rows of a line, behind the overall sizes, by feature."""
        asked = self._drawn.features
        at = len(self._most.expected) - self._most.behind
        line = at + self._drawn.numbers.index(number)
        chosen = np.flatnonzero((asked.line == line) & (asked.rule == EACH))
        return [slice(int(asked.first[one]) - at, int(asked.end[one]) - at) for one in chosen]

    def _lever(self, number: int, of: int) -> float:
        unit = self._unit(of)
        return float(np.mean([unit[rows].mean() for rows in self._of(number)] or [0.0]))

    def _off(self, number: int) -> float:
        """From the mean to the middle of the limits."""
        size = self._sizes[number - 1]
        behind = self._most.expected[len(self._most.expected) - self._most.behind :]
        mean = float(np.mean([behind[rows].mean() for rows in self._of(number)]))
        return ((size.lower or 0.0) + (size.upper or 0.0)) / 2 - mean

    def _width(self, number: int) -> float:
        size = self._sizes[number - 1]
        return max((size.upper or 0.0) - (size.lower or 0.0), 1e-6)
