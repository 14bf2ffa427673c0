"""One card, as the line takes it."""

from __future__ import annotations

from typing import Literal, overload

from sagger import cards
from sagger.desk.home import card_folders
from sagger.goods.binder import Binder
from sagger.goods.box import Box
from sagger.goods.furnace import Furnace
from sagger.goods.head import Head
from sagger.goods.oven import Oven
from sagger.goods.powder import Powder
from sagger.goods.shop import Shop


@overload
def card(kind: Literal["powder"], name: str) -> Powder: ...
@overload
def card(kind: Literal["binder"], name: str) -> Binder: ...
@overload
def card(kind: Literal["head"], name: str) -> Head: ...
@overload
def card(kind: Literal["box"], name: str) -> Box: ...
@overload
def card(kind: Literal["oven"], name: str) -> Oven: ...
@overload
def card(kind: Literal["furnace"], name: str) -> Furnace: ...
@overload
def card(kind: Literal["shop"], name: str) -> Shop: ...
def card(kind: str, name: str) -> object:
    """One card as the line takes it; the shop's own stands before a shipped one.

    Parameters
    ----------
    kind : str
        "powder", "binder", "head", "box", "oven", "furnace" or "shop".
    name : str
        Of the card.

    Returns
    -------
    Powder, Binder, Head, Box, Oven, Furnace or Shop
        Its figures hold `value` and `u` in SI, the text as `printed`, `source`, `where` and `standing`.

    Raises
    ------
    CardError
        If there is no such kind or card, or it is refused.

    Examples
    --------
    >>> steel = sagger.card("powder", "steel-316l")
    >>> steel.d50.printed, steel.d50.value, steel.d50.standing
    ('16 um', 1.6e-05, 'assumed')
    """
    return cards.load(kind, name, card_folders())
