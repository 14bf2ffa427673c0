"""Cards: what powders, binders, machines and shops are; every figure with source and standing."""

from __future__ import annotations

from collections.abc import Mapping
from urllib.parse import quote

from markupsafe import Markup

from sagger.desk.cards.shelf import CardDocument
from sagger.views.wording import signed
from sagger.views.words.standing import WORDS
from sagger.web import markup

NOTE = (
    "<p>Shipped cards are generic. Change a figure and the card becomes the shop's own; the command "
    "line uses it too.</p>"
)
HEAD = ("Card", "What it is", "Whose", "from memory", "assumed")
LINES_HEAD = ("Line", "Value", "Range or ±", "Standing", "Source", "Where")
LABELS = {
    "value": "value, with its unit",
    "range": "range, such as 7.9 to 8.0 g/cm3",
    "u": "standard uncertainty, with its unit",
    "source": "source",
    "where": "where in it: page, table",
    "standing": "standing",
}
_BARE = str.maketrans("", "", '[]"')  # of a list of words, as it stands in the file


def card_row(kind: str, name: str, card: CardDocument, own: bool) -> tuple[object, ...]:
    """One card under `HEAD`: what it is, whose, and how many weak figures it holds.

    Parameters
    ----------
    card : CardDocument
        Its figures and what they are from.
    own : bool
        Whether the shop has a copy of its own.
    """
    standings = [figure.standing for figure in card.figures]
    whose = "the shop's own" if own else "shipped"
    link = markup.link(f"/cards/{kind}/{name}", name)
    return link, card.title, whose, standings.count("memory"), standings.count("assumed")


def refused_row(name: str, error: Exception) -> tuple[object, ...]:
    """A card that cannot be read."""
    return name, str(error), markup.state("failed"), "", ""


def whose(own: bool) -> Markup:
    """Whose card it is, and what a change does."""
    words = "The shop's own copy." if own else "Shipped; a change makes a copy of your own."
    return Markup("<p>{} Choose a line to change it.</p>").format(words)


def words(path: str) -> str:
    """A line's place on its card, as a person says it."""
    return path.replace("_", " ").replace(".", ", ")


def line_row(kind: str, name: str, path: str, parts: Mapping[str, str], figure: bool) -> tuple[object, ...]:
    """One line of a card under `LINES_HEAD`; a plain word has a value only.

    Parameters
    ----------
    path : str
        Its place on the card, "sintering.programme.1.rate".
    parts : mapping
        What it says: value, range or u, standing, source, where.
    figure : bool
        Whether it is a figure.
    """
    link = markup.link(f"/cards/{kind}/{name}?line={quote(path)}", words(path))
    if not figure:
        return link, parts["value"].translate(_BARE), "", "", "", ""
    standing = parts.get("standing", "")
    spread = parts.get("range") or (f"± {parts['u']}" if "u" in parts else "")
    value = markup.figure(signed(parts["value"]), standing)
    return link, value, signed(spread), standing, parts.get("source", ""), parts.get("where", "")


def standings(known: tuple[str, ...]) -> dict[str, str]:
    """Standings to choose from, with what each means."""
    return {word: f"{word}: {WORDS[word]}" for word in known}
