"""One card of each kind, chosen together; and what in them is weak."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import NamedTuple

from sagger import units
from sagger.cards.agree import Check
from sagger.cards.figures import figures
from sagger.cards.place import Table
from sagger.cards.read import SHIPPED, Card, load, read_sources
from sagger.errors import CardError
from sagger.goods.cell import Cell
from sagger.goods.figure import Figure
from sagger.goods.furnace import Furnace
from sagger.goods.lot import Lot
from sagger.goods.order import CardNames
from sagger.goods.powder import Sintering

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
    kinds = [field.name for field in dataclasses.fields(CardNames)]
    for kind in kinds:
        if kind != "furnace" and not getattr(names, kind):
            raise CardError(f"a cell needs a {kind} card", field=kind, remedy="Name one.")
    whole = Cell(
        powder=load("powder", names.powder, folders),
        binder=load("binder", names.binder, folders),
        head=load("head", names.head, folders),
        box=load("box", names.box, folders),
        oven=load("oven", names.oven, folders),
        furnace=load("furnace", names.furnace, folders) if names.furnace else None,
        shop=load("shop", names.shop, folders),
    )
    return fitting(whole)


def fitting(cell: Cell) -> Cell:
    """The cell again, once its cards fit each other; `CardError` if they do not."""
    for holds, what, field, value, remedy in _fits(cell):
        if not holds:
            raise CardError(what, field=field, value=value, remedy=remedy)
    return cell


def weak(cell: Cell) -> list[Weak]:
    """Every figure of the cell that rests on memory or assumption, card by card."""
    rows = []
    for card in _cards(cell):
        for name, figure in figures(card):
            if figure.weak:
                rows.append(Weak(card.name, name, figure.printed, figure.standing, figure.source))
    return rows


def sources(cell: Cell, folders: Iterable[Path] = ()) -> dict[str, str]:
    """Full reference of each source that the cell's figures cite, by key; `folders` as in `load`."""
    known = read_sources((*folders, SHIPPED))
    cited = {figure.source for card in _cards(cell) for _, figure in figures(card)}
    return {key: reference(known[key]) if key in known else key for key in sorted(cited)}


def reference(entry: Table) -> str:
    """A source as one line: authors, title, year, link, and how much of it was read."""
    parts = [str(entry[part]) for part in ("authors", "title", "year", "link") if part in entry]
    return f"{', '.join(parts)} (read: {entry['seen']})"


def _cards(cell: Cell) -> Iterator[Card | Lot]:
    for field in dataclasses.fields(cell):
        card = getattr(cell, field.name)
        if card is not None:
            yield card


def _fits(cell: Cell) -> Iterator[Check]:
    powder, binder = cell.powder, cell.binder
    wrong = f"binder {binder.name} does not fit {powder.name}, a {powder.kind} powder"
    remedy = f"It fits: {', '.join(binder.fits)}. Choose another binder."
    yield powder.kind in binder.fits, wrong, "binder", binder.name, remedy
    box, oven = (
        sorted((card.length_x, card.length_y, card.length_z), key=_size) for card in (cell.box, cell.oven)
    )
    within = all(inner.value <= outer.value for inner, outer in zip(box, oven, strict=True))
    wrong = f"{cell.box.name} is larger than the oven {cell.oven.name}"
    yield within, wrong, "oven", cell.oven.name, "Choose a smaller box or a larger oven."
    if powder.sintering is None:
        wrong = f"{powder.name} is not sintered, so it has no furnace"
        yield cell.furnace is None, wrong, "furnace", "", "Leave the furnace empty."
    elif cell.furnace is None:
        wrong = f"{powder.name} must be sintered, so the cell needs a furnace"
        yield False, wrong, "furnace", "", "Name a furnace card."
    else:
        yield from _fires(powder.name, powder.sintering, cell.furnace)


def _fires(powder: str, law: Sintering, furnace: Furnace) -> Iterator[Check]:
    asked = {stretch.atmosphere for stretch in law.programme}
    wrong = f"furnace {furnace.name} does not offer every atmosphere that {powder} asks for"
    remedy = f"Asked: {', '.join(sorted(asked))}; offered: {', '.join(furnace.atmospheres)}."
    yield asked <= set(furnace.atmospheres), wrong, "furnace", furnace.name, remedy
    hottest = max(stretch.target for stretch in law.programme)
    peak = f"{units.into(hottest, 'degC'):.0f} degC"
    wrong = f"furnace {furnace.name} stays below the {peak} that {powder} asks for"
    remedy = f"It goes to {furnace.temperature.printed}. Choose another furnace."
    yield hottest <= furnace.temperature.value, wrong, "furnace", furnace.name, remedy


def _size(figure: Figure) -> float:
    return figure.value
