"""One card of each kind, chosen together; and what in them is weak."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any, NamedTuple

from sagger.cards.read import SHIPPED, load, read_sources
from sagger.errors import CardError
from sagger.goods.cell import Cell
from sagger.goods.figure import Figure
from sagger.goods.order import CardNames

DEFAULTS = CardNames(
    powder="steel-316l",
    binder="water-glycol",
    head="head-800",
    box="box-400x250x250",
    oven="box-oven",
    furnace="metal-batch",
    shop="plain-shop",
)


class Weak(NamedTuple):
    """A figure that rests on memory or assumption."""

    card: str
    figure: str
    printed: str
    standing: str
    source: str


def cell(names: CardNames, folders: Iterable[Path] = ()) -> Cell:
    """The cell that these cards make.

    Parameters
    ----------
    names : CardNames
        One name of each kind; `furnace` empty for sand.
    folders : iterable of Path
        Folders of one's own cards, see `load`.

    Raises
    ------
    CardError
        If a card is refused, or if cards do not fit each other.
    """
    folders = tuple(folders)
    kinds = [field.name for field in dataclasses.fields(Cell)]
    cards = {kind: load(kind, name, folders) for kind in kinds if (name := getattr(names, kind))}
    for kind in kinds:
        if kind != "furnace" and kind not in cards:
            raise CardError(f"a cell needs a {kind} card", field=kind, remedy="Name one.")
    chosen = Cell(**({"furnace": None} | cards))
    for holds, what, field, value, remedy in _fits(chosen):
        if not holds:
            raise CardError(what, field=field, value=value, remedy=remedy)
    return chosen


def figures(good: Any, path: str = "") -> Iterator[tuple[str, Figure]]:
    """Every figure in a good, with its dotted field name."""
    if isinstance(good, Figure):
        yield path, good
    elif dataclasses.is_dataclass(good):
        for field in dataclasses.fields(good):
            yield from figures(getattr(good, field.name), f"{path}.{field.name}" if path else field.name)
    elif isinstance(good, tuple):
        for index, item in enumerate(good, start=1):
            yield from figures(item, f"{path}[{index}]")


def weak(cell: Cell) -> list[Weak]:
    """Every figure of the cell that rests on memory or assumption, card by card."""
    rows = []
    for card in _cards(cell):
        for name, figure in figures(card):
            if figure.weak:
                rows.append(Weak(card.name, name, figure.printed, figure.standing, figure.source))
    return rows


def sources(cell: Cell, folders: Iterable[Path] = ()) -> dict[str, Mapping[str, Any]]:
    """The sources that the cell's figures cite, by key: kind, authors, title, year, link, seen."""
    known = read_sources((*folders, SHIPPED))
    cited = {figure.source for card in _cards(cell) for _, figure in figures(card)}
    return {key: known[key] for key in sorted(cited) if key in known}


def _cards(cell: Cell) -> Iterator[Any]:
    for field in dataclasses.fields(cell):
        card = getattr(cell, field.name)
        if card is not None:
            yield card


def _fits(cell: Cell) -> Iterator[tuple[bool, str, str, object, str]]:
    powder, binder, furnace = cell.powder, cell.binder, cell.furnace
    what = f"binder {binder.name} does not fit {powder.name}, a {powder.kind} powder"
    remedy = f"It fits: {', '.join(binder.fits)}. Choose another binder."
    yield powder.kind in binder.fits, what, "binder", binder.name, remedy
    if powder.sintering is None:
        what = f"{powder.name} is not sintered, so it has no furnace"
        name = furnace.name if furnace else ""
        yield furnace is None, what, "furnace", name, "Leave the furnace empty."
        return
    what = f"{powder.name} must be sintered, so the cell needs a furnace"
    yield furnace is not None, what, "furnace", "", "Name a furnace card."
    if furnace is None:
        return
    asked = {stretch.atmosphere for stretch in powder.sintering.programme}
    what = f"furnace {furnace.name} does not offer every atmosphere that {powder.name} asks for"
    remedy = f"Asked: {', '.join(sorted(asked))}; offered: {', '.join(furnace.atmospheres)}."
    yield asked <= set(furnace.atmospheres), what, "furnace", furnace.name, remedy
