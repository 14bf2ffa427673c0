"""The tables of docs/cards.md, made from the shipped cards themselves."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import NamedTuple

from sagger.cards.place import Table
from sagger.cards.read import KINDS, SHIPPED, names, open_table, read_sources
from sagger.goods.figure import STANDINGS, WEAK

MARK = "<!-- tables below are made by `python -m sagger.cards.page docs/cards.md`; do not edit -->"


class CardLine(NamedTuple):
    """One sourced entry of a card file, as it stands there."""

    card: str
    field: str
    printed: str
    standing: str
    source: str
    where: str


def tables() -> str:
    """Markdown: the shipped cards, every weak figure on them, and the sources."""
    return "\n".join([MARK, "", *_cards(), "", *_weak(), "", *_sources(), ""])


def entries(kind: str, name: str) -> list[CardLine]:
    """Every sourced entry of a shipped card, furnace stretches included, in the order of the file."""
    table = open_table(SHIPPED / KINDS[kind][1] / f"{name}.toml")
    return [CardLine(name, *entry) for entry in _walk(table, "")]


def _walk(table: object, path: str) -> Iterator[tuple[str, str, str, str, str]]:
    if isinstance(table, list):
        for index, item in enumerate(table, start=1):
            yield from _walk(item, f"{path}[{index}]")
    elif isinstance(table, Mapping) and "standing" in table:
        yield path, _printed(table), table["standing"], table["source"], table["where"]
    elif isinstance(table, Mapping):
        for key, entry in table.items():
            yield from _walk(entry, f"{path}.{key}" if path else key)


def _printed(entry: Table) -> str:
    if "value" in entry:
        return str(entry["value"])
    return f"{entry['rate']} to {entry['target']}, hold {entry['hold']}, {entry['atmosphere']}"


def _cards() -> Iterator[str]:
    yield "## Shipped cards"
    yield ""
    rows = []
    for kind in KINDS:
        for name in names(kind):
            title = open_table(SHIPPED / KINDS[kind][1] / f"{name}.toml")["title"]
            counts = [sum(entry.standing == word for entry in entries(kind, name)) for word in STANDINGS]
            rows.append((kind, f"`{name}`", str(title), *(str(count or "") for count in counts)))
    yield from _grid(("kind", "name", "what it is", *STANDINGS), rows)


def _weak() -> Iterator[str]:
    yield "## Figures that rest on memory or assumption"
    yield ""
    yield "A plan lists those of its own cell. Replace what matters to you."
    yield ""
    every = [entry for kind in KINDS for name in names(kind) for entry in entries(kind, name)]
    weak = [entry for entry in every if entry.standing in WEAK]
    rows = [
        (f"`{entry.card}`", f"`{entry.field}`", entry.printed, entry.standing, entry.where) for entry in weak
    ]
    yield from _grid(("card", "figure", "value", "standing", "why this value"), rows)


def _sources() -> Iterator[str]:
    yield "## Sources"
    yield ""
    rows = []
    for key, entry in sorted(read_sources([SHIPPED]).items()):
        title = ", ".join(str(entry[part]) for part in ("authors", "title", "year", "link") if part in entry)
        rows.append((f"`{key}`", str(entry["kind"]), title, str(entry["seen"])))
    yield from _grid(("key", "kind", "source", "how much of it was read"), rows)


def main() -> None:
    """Rewrite the tables in the page named on the command line."""
    page = Path(sys.argv[1])
    head, _, _ = page.read_text(encoding="utf-8").partition(MARK)
    page.write_text(head + tables(), encoding="utf-8")


def _grid(head: Iterable[str], rows: Iterable[Iterable[str]]) -> Iterator[str]:
    head = tuple(head)
    yield f"| {' | '.join(head)} |"
    yield "|" + "---|" * len(head)
    for row in rows:
        yield f"| {' | '.join(cell.replace('|', '/') for cell in row)} |"


if __name__ == "__main__":
    main()
