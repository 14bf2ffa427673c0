"""Every way in which powder moves, as a form: what is asked, and what is booked."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import NamedTuple

from sagger.desk.measuring import book
from sagger.desk.powder import lots
from sagger.errors import InputError
from sagger.ledger.lots import Mover

OF = "from which lots (each as name=mass, commas between: L-0417=12 kg, L-0418=3 kg)"
LOT = "lot"  # the field that is chosen from the shelf
NOTHING = "0 kg"
Entries = Mapping[str, str]  # what the fields hold, by key


class PowderMove(NamedTuple):
    """One way in which powder moves."""

    title: str
    labels: Mapping[str, str]  # of its fields, by key
    button: str
    book: Callable[[Entries, Mover], str]  # says which entry it became


def words(text: str) -> tuple[str, ...]:
    """Words with commas between."""
    return tuple(word.strip() for word in text.split(",") if word.strip())


def _sieve(entries: Entries, mover: Mover) -> str:
    masses = {
        "passed": entries["passed"],
        "oversize": entries["oversize"] or NOTHING,
        "taken": entries["taken"],
    }
    return lots.sieve(entries[LOT], entries["new"], masses, None, mover)


def _blend(entries: Entries, mover: Mover) -> str:
    return lots.blend(entries["new"], words(entries["of"]), entries["mass"], None, mover)


def _charge(entries: Entries, mover: Mover) -> str:
    return lots.charge(entries["box"], words(entries["of"]), mover)


def _printed(entries: Entries, mover: Mover) -> str:
    job = _whole("job", entries["job"], "The page of the job shows it.")
    number = _whole("number", entries["number"], "The first is 1.")
    return book.box(entries["box"], job, number, mover)[0]


def _empty(entries: Entries, mover: Mover) -> str:
    masses = {
        "recovered": entries["recovered"],
        "pieces": entries["pieces"],
        "oversize": entries["oversize"] or NOTHING,
    }
    return lots.recover(entries["box"], entries["new"], masses, None, mover)


def _scrap(entries: Entries, mover: Mover) -> str:
    return lots.scrap(entries[LOT], entries["mass"], mover)


def _whole(field: str, text: str, remedy: str) -> int:
    try:
        return int(text)
    except ValueError:
        raise InputError("a whole number is needed", field=field, value=text, remedy=remedy) from None


MOVES = (
    PowderMove(
        "Sieve a lot",
        {
            LOT: "lot",
            "new": "name of the sieved lot",
            "passed": "passed the sieve, such as 11.2 kg",
            "oversize": "stayed on it, thrown away",
            "taken": "put on the sieve (empty = all)",
        },
        "Book the sieving",
        _sieve,
    ),
    PowderMove(
        "Blend lots",
        {"new": "name of the blend", "of": OF, "mass": "weighed afterwards (empty = all of it)"},
        "Book the blend",
        _blend,
    ),
    PowderMove(
        "Charge a box", {"box": "name of the box that is printed", "of": OF}, "Book the charge", _charge
    ),
    PowderMove(
        "Book a printed box",
        {"box": "name of the box", "job": "number of its job", "number": "which box of that job, from 1"},
        "Book the box",
        _printed,
    ),
    PowderMove(
        "Empty a box",
        {
            "box": "name of the box",
            "new": "name of the powder that comes back",
            "recovered": "loose powder weighed",
            "pieces": "powder in the pieces: green mass less binder",
            "oversize": "left on the sieve, thrown away",
        },
        "Book the emptying",
        _empty,
    ),
    PowderMove(
        "Throw powder away",
        {LOT: "lot", "mass": "how much (empty = all that is left)"},
        "Book it as thrown away",
        _scrap,
    ),
)
