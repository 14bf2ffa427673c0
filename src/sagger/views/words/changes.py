"""What differs between two orders, in words."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import zip_longest

from sagger.goods.plain import Plain, Table, rows, table

NOTHING = "not set"  # then the cards decide


def changes(before: Table, after: Table) -> tuple[str, ...]:
    """Each key of an order file that says something else now, "layer: 50 um → 60 um".

    Parameters
    ----------
    before, after : Table
        Tables of two order files, see docs/order.md.
    """
    lines = list(_tables(before, after, ("order", "cards", "choices", "nesting")))
    for name in ("part", "coupon"):
        for old, new in zip_longest(rows(before, name), rows(after, name)):
            if old is None or new is None:
                lines.append(f"{_name(new or old or {})}: {'added' if old is None else 'taken out'}")
                continue
            lines += [f"{_name(new)}, {line}" for line in _lines(old, new)]
    for name in ("oven_programme", "furnace_programme"):
        lines += _programme(name.replace("_", " "), rows(before, name), rows(after, name))
    return tuple(lines)


def _tables(before: Table, after: Table, names: tuple[str, ...]) -> Iterator[str]:
    for name in names:
        yield from _lines(table(before, name), table(after, name))


def _lines(old: Table, new: Table) -> Iterator[str]:
    for key in dict.fromkeys((*old, *new)):
        if old.get(key) != new.get(key):
            yield f"{key.replace('_', ' ')}: {_shown(old.get(key))} → {_shown(new.get(key))}"


def _programme(name: str, old: list[Table], new: list[Table]) -> list[str]:
    if old == new:
        return []
    if len(old) == len(new):
        pairs = enumerate(zip(old, new, strict=True), 1)
        return [
            f"{name}, stretch {place}, {line}" for place, (one, other) in pairs for line in _lines(one, other)
        ]
    return [f"{name}: {_stretches(old)} → {_stretches(new)}"]


def _stretches(programme: list[Table]) -> str:
    return f"{len(programme)} stretches of its own" if programme else "of the card"


def _name(part: Table) -> str:
    return str(part.get("name") or part.get("file") or f"coupon {part.get('kind')}")


def _shown(value: Plain) -> str:
    if value in (None, ""):
        return NOTHING
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return " ".join(f"{each:g}" if isinstance(each, float) else str(each) for each in value)
    return str(value)
