"""Sagger: one binder-jet job from part file to promise.

The names listed here are what other people's programs may count on; docs/python.md shows them at work. Each
loads when it is first used.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sagger import cards as cards
    from sagger import units as units
    from sagger.desk.cards.lookup import card as card
    from sagger.desk.measuring.judging import judge as judge
    from sagger.desk.measuring.scoring import score as score
    from sagger.desk.planning import cell as cell
    from sagger.desk.planning.check import check as check
    from sagger.desk.planning.layers import read_again as read_again
    from sagger.desk.planning.oversize import factors as factors
    from sagger.desk.planning.oversize import oversize as oversize
    from sagger.desk.planning.plan import plan as plan
    from sagger.desk.powder.lot import lot as lot
    from sagger.errors import InputError as InputError
    from sagger.errors import SaggerError as SaggerError

__all__ = [
    "InputError",
    "SaggerError",
    "card",
    "cards",
    "cell",
    "check",
    "factors",
    "judge",
    "lot",
    "oversize",
    "plan",
    "read_again",
    "score",
    "units",
]
_ROOMS = {
    "InputError": "errors",
    "SaggerError": "errors",
    "card": "desk.cards.lookup",
    "check": "desk.planning.check",
    "factors": "desk.planning.oversize",
    "judge": "desk.measuring.judging",
    "lot": "desk.powder.lot",
    "oversize": "desk.planning.oversize",
    "plan": "desk.planning.plan",
    "read_again": "desk.planning.layers",
    "score": "desk.measuring.scoring",
}


def __getattr__(name: str) -> object:
    if name in _ROOMS:
        return getattr(import_module(f"sagger.{_ROOMS[name]}"), name)
    if name == "cell":
        return import_module("sagger.desk.planning.cell")
    if name in __all__:  # a room, listed as a whole
        return import_module(f"sagger.{name}")
    raise AttributeError(f"module 'sagger' has no attribute {name!r}")


def __dir__() -> list[str]:
    return [*globals(), *__all__]
