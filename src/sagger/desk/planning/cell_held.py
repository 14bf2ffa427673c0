"""The book of a cell as it stands, its card, and moments as people write them."""

from __future__ import annotations

from datetime import datetime

from sagger import cards
from sagger.desk.home import card_folders, ledger
from sagger.errors import InputError
from sagger.goods.asked import CellPlan
from sagger.goods.stand import Stand
from sagger.ledger import cellbook
from sagger.ledger.cellbook import CellBook

USUAL = "two-printers"


def card(name: str = USUAL) -> Stand:
    """The card of the cell."""
    return cards.load("stand", name, card_folders())


def book() -> CellBook:
    """What the book of the cell says now."""
    return cellbook.book(ledger())


def accepted() -> CellPlan:
    """The plan that was accepted last; `InputError` if there is none."""
    held = book()
    if held.plan is None:
        raise InputError("no plan was accepted yet", remedy="`sagger cell plan` makes one.")
    return held.plan


def now() -> str:
    """The shop's local time, to the minute."""
    return datetime.now().isoformat(timespec="minutes")


def moment(text: str) -> str:
    """Local time to the minute; `InputError` if the text is no moment."""
    try:
        return datetime.fromisoformat(text).replace(tzinfo=None).isoformat(timespec="minutes")
    except ValueError:
        remedy = "Write local time as 2030-01-31T08:00."
        raise InputError("a moment is an ISO date and time", value=text, remedy=remedy) from None
