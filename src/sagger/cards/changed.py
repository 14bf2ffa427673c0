"""A card with one figure changed, for a study."""

from __future__ import annotations

import dataclasses
from typing import Any, TypeVar

from sagger.cards.figures import DIFFERENCE, amount
from sagger.cards.place import CardSpot, near, refusal
from sagger.cards.read import kind_of
from sagger.goods.figure import Figure

T = TypeVar("T")


def changed(card: T, field: str, value: str, u: str = "") -> T:
    """The card with another value for one of its figures, which is then `assumed`.

    Parameters
    ----------
    card : Powder, Binder, Head, Box, Oven, Furnace or Shop
        As read.
    field : str
        Name of the figure; a figure of a table below is named with a dot, "sintering.green_density".
    value, u : str
        The figure and its standard uncertainty with their units, "58 %"; no uncertainty is none.

    Raises
    ------
    CardError
        If the card has no such figure, or the value has another kind of unit or cannot be.

    Examples
    --------
    >>> steel = sagger.card("powder", "steel-316l")
    >>> denser = sagger.cards.changed(steel, "sintering.green_density", "58 %", u="1 %")
    >>> denser.sintering.green_density.value, denser.sintering.green_density.standing
    (0.58, 'assumed')
    >>> sagger.cards.changed(steel, "d50", "16 kg")
    Traceback (most recent call last):
    sagger.errors.CardError: d50: 'kg' is a unit of mass, length is needed (got '16 kg'). Units that fit: ...
    """
    made: T = _changed(card, field.split("."), value, u, CardSpot(file="", sources={}, field=field))
    return made


def _changed(card: Any, names: list[str], value: str, u: str, place: CardSpot) -> Any:
    fields = {each.name: each for each in dataclasses.fields(card)} if dataclasses.is_dataclass(card) else {}
    name, below = names[0], names[1:]
    if name not in fields:
        raise refusal(place, "the card has no figure of this name", remedy=near(name, fields))
    if below:
        inner = _changed(getattr(card, name), below, value, u, place)
        return dataclasses.replace(card, **{name: inner})
    kind = kind_of(type(card), fields[name])
    if kind is None:
        raise refusal(place, "this is no figure", remedy="Name one that has a unit.")
    spread = amount(u, DIFFERENCE if kind == "temperature" else kind, place) if u else 0.0
    figure = Figure(
        value=amount(value, kind, place), u=spread, printed=value, source="", where="", standing="assumed"
    )
    return dataclasses.replace(card, **{name: figure})
