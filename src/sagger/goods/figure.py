"""A figure on a card: value, uncertainty, and how far it can be trusted."""

from __future__ import annotations

import dataclasses
from typing import Any

from sagger.goods.good import good

STANDINGS = ("read", "measured", "worked", "memory", "assumed")
WEAK = ("memory", "assumed")  # shown as such wherever they go


@good
class Figure:
    value: float  # [SI]
    u: float  # standard uncertainty [SI]; 0 where the source gives none
    printed: str  # the figure as the source prints it, with its unit
    source: str  # key in sources.toml
    where: str  # page, table, section
    standing: str  # one of STANDINGS

    @property
    def weak(self) -> bool:
        """True if it rests on memory or assumption."""
        return self.standing in WEAK


def figure(kind: str) -> Any:
    """Field of a card good that holds a `Figure` of this kind (see units.py)."""
    return dataclasses.field(metadata={"kind": kind})


def optional_figure(kind: str) -> Any:
    """Field of a card good that holds a `Figure` of this kind, or None if the card has none."""
    return dataclasses.field(default=None, metadata={"kind": kind})


def figures(kind: str) -> Any:
    """Field of a card good that holds a row of figures of this kind; empty if the card has none."""
    return dataclasses.field(default=(), metadata={"kind": kind})


def weakest(*figures: Figure, least: str = "worked") -> str:
    """Standing of the weakest of figures that something was worked out from; never better than `least`."""
    return max((least, *(figure.standing for figure in figures)), key=STANDINGS.index)


def cited(figure: Figure) -> str:
    """Where a figure comes from, and how far it can be trusted, for a finding that rests on it."""
    return f"{figure.source}, {figure.standing}"


def cited_at(figure: Figure) -> str:
    """As `cited`, with the place in the source."""
    return f"{figure.source}, {figure.where} ({figure.standing})"
