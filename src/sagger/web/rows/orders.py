"""All orders as tables: what needs a decision, what runs, what is approved; sorted, and a page at a time."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

from markupsafe import Markup

from sagger.views.words.overview import OrderLine, Outcome
from sagger.web import markup

NONE_YET = "No orders yet. Bring a part file, or an order file, and plan it."
NONE_SUCH = "No order is like that. Take out a word, or show all of them."
HEAD = (
    "Order",
    "Job",
    "State",
    "Next",
    "For",
    "Pieces",
    "Chance",
    "Price",
    "Ready",
    "Due",
    "Last change, UTC",
)
NUMBERS = (5, 6, 7)  # columns of HEAD set flush right
A_PAGE = 50  # orders
ALL = "all"
GROUPS = {"Under way": "under way", "Needs a decision": "waiting for a decision", "Approved": "approved"}
NO_OUTCOME = ("",) * 5


class Sought(NamedTuple):
    """What is to be seen of the orders."""

    words: str = (
        ""  # each has to stand in the name, customer, reference, state, next step or number of the job
    )
    group: str = ALL  # one of GROUPS, or all
    by: str = "change"  # one of SORTS
    page: int = 1


EVERY = Sought()


class SortKey(NamedTuple):
    """A way to sort; orders without such a figure come last."""

    label: str
    key: Callable[[OrderLine], float | str | None]
    falling: bool = False


def _of(figure: Callable[[Outcome], float | str | None]) -> Callable[[OrderLine], float | str | None]:
    return lambda line: figure(line.outcome) if line.outcome is not None else None


SORTS = {
    "change": SortKey("newest change first", lambda line: line.changed, falling=True),
    "due": SortKey("earliest due date first", _of(lambda outcome: outcome.due or None)),
    "ready": SortKey("earliest ready first", _of(lambda outcome: outcome.ready or None)),
    "chance": SortKey("least chance first", _of(lambda outcome: outcome.chance)),
    "price": SortKey("highest price first", _of(lambda outcome: outcome.total), falling=True),
    "name": SortKey("by name", lambda line: line.name.casefold()),
}


def groups(lines: Sequence[OrderLine]) -> dict[str, list[OrderLine]]:
    """The orders under the headings of the page, empty headings left out; the few under way come first."""
    made = {
        "Under way": [line for line in lines if line.state in ("waiting", "running")],
        "Needs a decision": [line for line in lines if line.waits],
        "Approved": [line for line in lines if line.state == "approved"],
    }
    return {name: group for name, group in made.items() if group}


def sought(lines: Sequence[OrderLine], asked: Sought) -> list[OrderLine]:
    """The orders that hold all words, in the order of their headings and then as asked."""
    words = asked.words.casefold().split()
    held = [line for line in lines if all(word in _text(line) for word in words)]
    return [
        line
        for name, group in groups(held).items()
        if asked.group in (ALL, name)
        for line in _sorted(group, SORTS[asked.by])
    ]


def _sorted(lines: list[OrderLine], by: SortKey) -> list[OrderLine]:
    known = [line for line in lines if by.key(line) is not None]
    rest = [line for line in lines if by.key(line) is None]
    return sorted(known, key=by.key, reverse=by.falling) + rest  # type: ignore[arg-type]


def _text(line: OrderLine) -> str:
    words = [line.name, f"job {line.job}", markup.STATE_WORDS.get(line.state, line.state)]
    if line.outcome is not None:
        words += [line.outcome.customer, line.outcome.reference, "late" if line.outcome.late else ""]
    return " ".join(words).casefold()


def pages(count: int) -> int:
    """How many pages so many orders take."""
    return max(1, -(-count // A_PAGE))


def tables(lines: Sequence[OrderLine], asked: Sought = EVERY) -> Markup:
    """One page of the orders that are sought: a table under each heading."""
    if not lines:
        return Markup("<p>{}</p>").format(NONE_YET)
    chosen = sought(lines, asked)
    if not chosen:
        return Markup("<p>{}</p>").format(NONE_SUCH)
    first = A_PAGE * (min(asked.page, pages(len(chosen))) - 1)
    shown = chosen[first : first + A_PAGE]
    parts = [
        Markup("<h2>{}</h2>{}").format(name, markup.table(HEAD, map(row, group), name, numbers=NUMBERS))
        for name, group in groups(shown).items()
    ]
    said = Markup('<p class="count">{}</p>').format(_count(len(chosen), len(lines), first, len(shown)))
    return said + Markup("").join(parts)


def _count(chosen: int, every: int, first: int, shown: int) -> str:
    of = f"{chosen} of {every} orders" if chosen < every else f"{every} order{'s' if every > 1 else ''}"
    return of if shown == chosen else f"{of}, {first + 1} to {first + shown} here"


def row(line: OrderLine) -> tuple[object, ...]:
    """One order as a row under `HEAD`."""
    title = markup.link(f"/job/{line.job}", line.name)
    customer = ""
    came_to: tuple[object, ...] = NO_OUTCOME
    if line.outcome is not None and line.outcome.pieces is not None:
        outcome = line.outcome
        price, ready = (markup.resting(text, outcome.rests) for text in (outcome.price, outcome.ready))
        chance = "" if outcome.chance is None else _percent(outcome.chance)
        due = markup.together(outcome.due) + (markup.state_of("look", "late") if outcome.late else "")
        came_to = (outcome.pieces, chance, price, ready, due)
        customer = ", ".join(word for word in (outcome.customer, outcome.reference) if word)
    return title, line.job, markup.state(line.state), line.to_do, customer, *came_to, line.changed


def _percent(chance: float) -> str:
    """No chance is rounded to certainty."""
    return "over 99 %" if 99 < chance < 100 else "under 1 %" if 0 < chance < 1 else f"{chance:.0f} %"
