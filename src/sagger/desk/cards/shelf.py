"""The cards on file, to look at."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping
from typing import NamedTuple

from sagger import cards as card_files
from sagger.desk.home import card_folders
from sagger.errors import CardError
from sagger.goods.figure import Figure
from sagger.goods.good import good
from sagger.goods.order import CardNames

KINDS = (*(field.name for field in dataclasses.fields(CardNames)), "stand")


@good
class CardList:
    """Names of cards by kind."""

    schema: str = "sagger-cards/1"
    cards: Mapping[str, list[str]]


class FigureLine(NamedTuple):
    """A figure of a card."""

    figure: str  # name of the field
    printed: str
    standing: str
    source: str
    where: str


@good
class CardDocument:
    """Every figure of one card."""

    schema: str = "sagger-card/1"
    kind: str
    name: str
    title: str
    figures: tuple[FigureLine, ...]


def names(*kinds: str) -> dict[str, list[str]]:
    """Names of the cards of these kinds, or of all.

    Raises
    ------
    CardError
        If there is no such kind.
    """
    for kind in kinds:
        if kind not in KINDS:
            remedy = f"Kinds: {', '.join(KINDS)}."
            raise CardError("no such kind of card", field="kind", value=kind, remedy=remedy)
    return {kind: card_files.names(kind, card_folders()) for kind in kinds or KINDS}


def listed(*kinds: str) -> tuple[CardList, list[str]]:
    """The cards of these kinds, or of all, with their titles."""
    known = names(*kinds)
    lines = [
        f"{kind:<8} {name:<20} {card_files.load(kind, name, card_folders()).title}"
        for kind, of_kind in known.items()
        for name in of_kind
    ]
    return CardList(cards=known), lines


def described(kind: str, name: str) -> tuple[CardDocument, list[str]]:
    """Every figure of one card; `CardError` if there is no such card."""
    names(kind)
    one = card_files.load(kind, name, card_folders())
    rows = tuple(_figures(one, ""))
    lines = [f"{name}: {one.title}"]
    for row in rows:
        lines.append(f"  {row.figure:<30} {row.printed:<22} {row.standing:<9} {row.source} {row.where}")
    return CardDocument(kind=kind, name=name, title=one.title, figures=rows), lines


def _figures(value: object, name: str) -> Iterator[FigureLine]:
    """Every figure in a card or a part of it."""
    if isinstance(value, Figure):
        yield FigureLine(name, value.printed, value.standing, value.source, value.where)
    elif isinstance(value, tuple):
        for number, item in enumerate(value, 1):
            yield from _figures(item, f"{name} {number}")
    elif dataclasses.is_dataclass(value):
        for field in dataclasses.fields(value):
            yield from _figures(getattr(value, field.name), f"{name}.{field.name}" if name else field.name)
