"""Where in a card a reader stands, and how it refuses what it finds there."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from typing import NamedTuple

from sagger.errors import CardError

Table = Mapping[str, object]


class CardSpot(NamedTuple):
    """A spot in a card, and the sources that may be cited there."""

    file: str
    sources: Mapping[str, Table]
    field: str = ""

    def below(self, name: str) -> CardSpot:
        """The field `name` under this one."""
        return self._replace(field=f"{self.field}.{name}" if self.field else name)


def refusal(place: CardSpot, what: str, value: object = "", remedy: str = "") -> CardError:
    """What a person is told about this spot."""
    return CardError(what, file=place.file, field=place.field, value=value, remedy=remedy)


def no_strangers(table: Table, known: Iterable[str], place: CardSpot) -> None:
    """Nothing if every key of the table is known; else `CardError` with the nearest known name."""
    known = tuple(known)
    for key in table:
        if key not in known:
            raise refusal(place.below(key), "no field has this name", remedy=near(key, known))


def near(word: str, known: Iterable[str]) -> str:
    """What was probably meant, or all there is."""
    known = sorted(known)
    close = difflib.get_close_matches(word, known, n=3)
    return f"Nearest: {', '.join(close)}." if close else f"Known: {', '.join(known)}."
