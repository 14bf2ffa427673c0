"""The cards on file, to look at."""

from __future__ import annotations

import dataclasses
from typing import Any

from sagger import cards as card_files
from sagger.desk.home import card_folders
from sagger.errors import CardError
from sagger.goods.figure import Figure
from sagger.goods.order import CardNames

KINDS = tuple(field.name for field in dataclasses.fields(CardNames))


def cards(kind: str, name: str) -> tuple[dict[str, Any], list[str]]:
    """All cards, those of one kind, or every figure of one card.

    Raises
    ------
    CardError
        If there is no such kind or card.
    """
    if kind and kind not in KINDS:
        raise CardError(
            "no such kind of card", field="kind", value=kind, remedy=f"Kinds: {', '.join(KINDS)}."
        )
    if name:
        return _one(kind, name)
    listed = {each: card_files.names(each, card_folders()) for each in ([kind] if kind else KINDS)}
    lines = []
    for each, names in listed.items():
        titles = ((name, card_files.load(each, name, card_folders()).title) for name in names)
        lines += [f"{each:<8} {name:<20} {title}" for name, title in titles]
    return {"schema": "sagger-cards/1", "cards": listed}, lines


def _one(kind: str, name: str) -> tuple[dict[str, Any], list[str]]:
    card = card_files.load(kind, name, card_folders())
    rows = list(_figures(card, ""))
    document = {"schema": "sagger-card/1", "kind": kind, "name": name, "title": card.title, "figures": rows}
    lines = [f"{name}: {card.title}"]
    for row in rows:
        lines.append(
            f"  {row['figure']:<30} {row['printed']:<22} {row['standing']:<9} {row['source']} {row['where']}"
        )
    return document, lines


def _figures(value: Any, name: str) -> list[dict[str, Any]]:
    """Every figure in a card or a part of it."""
    if isinstance(value, Figure):
        facts = {fact: getattr(value, fact) for fact in ("printed", "standing", "source", "where")}
        return [{"figure": name, **facts}]
    rows: list[dict[str, Any]] = []
    if dataclasses.is_dataclass(value):
        for field in dataclasses.fields(value):
            inner = getattr(value, field.name)
            rows += _figures(inner, f"{name}.{field.name}" if name else field.name)
    elif isinstance(value, tuple):
        for number, item in enumerate(value, 1):
            rows += _figures(item, f"{name} {number}")
    return rows
