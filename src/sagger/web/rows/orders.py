"""All orders as tables: what needs a decision, what runs, what is approved."""

from __future__ import annotations

from collections.abc import Sequence

from markupsafe import Markup

from sagger.views.words.overview import OrderLine
from sagger.web import markup

NONE_YET = "No orders yet. Bring a part file, or an order file, and plan it."
HEAD = ("Order", "Job", "State", "Next", "Pieces", "Price", "Ready", "Due", "Last change, UTC")
NUMBERS = (4, 5)  # columns of HEAD set flush right


def groups(lines: Sequence[OrderLine]) -> dict[str, list[OrderLine]]:
    """The orders under the headings of the page, empty headings left out."""
    made = {
        "Needs a decision": [line for line in lines if line.waits],
        "Under way": [line for line in lines if line.state in ("waiting", "running")],
        "Approved": [line for line in lines if line.state == "approved"],
    }
    return {name: group for name, group in made.items() if group}


def tables(lines: Sequence[OrderLine]) -> Markup:
    """The whole page: a table under each heading."""
    if not lines:
        return Markup("<p>{}</p>").format(NONE_YET)
    parts = [
        Markup("<h2>{}</h2>{}").format(name, markup.table(HEAD, map(row, group), name, numbers=NUMBERS))
        for name, group in groups(lines).items()
    ]
    return Markup("").join(parts)


def row(line: OrderLine) -> tuple[object, ...]:
    """One order as a row under `HEAD`."""
    title = markup.link(f"/job/{line.job}", line.name)
    came_to: tuple[object, ...] = ("", "", "", "")
    if line.outcome is not None and line.outcome.pieces is not None:
        outcome = line.outcome
        price, ready = (markup.resting(text, outcome.rests) for text in (outcome.price, outcome.ready))
        came_to = (outcome.pieces, price, ready, markup.together(outcome.due))
    return title, line.job, markup.state(line.state), line.to_do, *came_to, line.changed
