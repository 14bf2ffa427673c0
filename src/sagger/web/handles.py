"""Names under which a page's own parts are fetched: one for each part that a page shows, and gone with it.

What a browser sends back is such a name and never a path; it counts for the person it was given to.
"""

from __future__ import annotations

import secrets
from typing import NamedTuple

from sagger.desk.pictures.faces import PartSource

MOST = 2000  # names at a time; the oldest go first


class HeldPart(NamedTuple):
    """A part that a page shows."""

    person: str
    source: PartSource


_HELD: dict[str, HeldPart] = {}


def give(person: str, source: PartSource) -> str:
    """A new name for a part, good for this person."""
    while len(_HELD) >= MOST:
        del _HELD[next(iter(_HELD))]
    name = secrets.token_hex(16)
    _HELD[name] = HeldPart(person, source)
    return name


def part(name: str, person: str) -> PartSource | None:
    """The part of this name; None if there is none, or it was given to somebody else."""
    held = _HELD.get(name)
    return held.source if held is not None and held.person == person else None


def drop(name: str) -> None:
    """Forget a name."""
    _HELD.pop(name, None)
