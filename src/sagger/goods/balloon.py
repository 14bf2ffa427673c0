"""The numbers by which lines of a drawing and their features are called on papers and in tables."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from typing import NamedTuple, TypeVar

from sagger.goods.drawn_feature import DrawnFeature

Size = TypeVar("Size")
Zone = TypeVar("Zone")


class Balloon(NamedTuple):
    """Number of a line of the drawing, and which of its features: "7", "7.2"."""

    line: int  # from 1
    feature: int = 0  # from 1; 0: the line has one, or the worst of all is meant

    def __str__(self) -> str:
        return f"{self.line}.{self.feature}" if self.feature else str(self.line)


def numbered(dimensions: Iterable[Size], tolerances: Iterable[Zone]) -> list[tuple[int, Size | Zone]]:
    """Every line of a drawing with its number: dimensions, then geometric tolerances, from 1."""
    return list(enumerate((*dimensions, *tolerances), start=1))


def balloons(asked: Iterable[DrawnFeature]) -> list[Balloon]:
    """Of each feature, in order; where a line has one alone, its number is that of the line."""
    known = list(asked)
    count, seen, made = Counter(one.line for one in known), Counter[int](), []
    for one in known:
        seen[one.line] += 1
        made.append(Balloon(one.line, seen[one.line] if count[one.line] > 1 else 0))
    return made


def every(line: int, features: int) -> list[Balloon]:
    """The balloons of a line with so many features."""
    return [Balloon(line, n) for n in range(1, features + 1)] if features > 1 else [Balloon(line)]


def of(feature: str) -> Balloon | None:
    """Which line a reading is of: its number stands first in what the reading calls its feature."""
    return read(feature.partition(" ")[0])


def read(text: str) -> Balloon | None:
    """What "7", "7.2", or with the letter of the part "A7.2", stands for; None if it is no such number."""
    found = re.fullmatch(r"[A-Za-z]{0,2}\s?([1-9]\d{0,3})(?:\.([1-9]\d{0,3}))?", text.strip())
    return Balloon(int(found[1]), int(found[2] or 0)) if found else None
