"""What differs between two orders, in words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import zip_longest
from typing import Any

NOTHING = "not said"  # then the cards decide


def changes(before: Mapping[str, Any], after: Mapping[str, Any]) -> tuple[str, ...]:
    """Each key of an order file that says something else now, "layer: 50 um → 60 um".

    Parameters
    ----------
    before, after : mapping
        Tables of two order files, see docs/order.md.
    """
    said = list(_tables(before, after, ("order", "cards", "choices", "nesting")))
    for rows in ("part", "coupon"):
        for old, new in zip_longest(before.get(rows, []), after.get(rows, [])):
            if old is None or new is None:
                said.append(f"{_name(new or old)}: {'added' if old is None else 'taken out'}")
                continue
            said += [f"{_name(new)}, {line}" for line in _lines(old, new)]
    for name in ("oven_programme", "furnace_programme"):
        said += _programme(name.replace("_", " "), before.get(name, []), after.get(name, []))
    return tuple(said)


def _tables(before: Mapping[str, Any], after: Mapping[str, Any], names: tuple[str, ...]) -> Iterator[str]:
    for name in names:
        yield from _lines(before.get(name, {}), after.get(name, {}))


def _lines(old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[str]:
    for key in dict.fromkeys((*old, *new)):
        if old.get(key) != new.get(key):
            yield f"{key.replace('_', ' ')}: {_shown(old.get(key))} → {_shown(new.get(key))}"


def _programme(name: str, old: list[Mapping[str, Any]], new: list[Mapping[str, Any]]) -> list[str]:
    if old == new:
        return []
    if len(old) == len(new):
        pairs = enumerate(zip(old, new, strict=True), 1)
        return [
            f"{name}, stretch {place}, {line}" for place, (one, other) in pairs for line in _lines(one, other)
        ]
    return [f"{name}: {_stretches(old)} → {_stretches(new)}"]


def _stretches(rows: list[Mapping[str, Any]]) -> str:
    return f"{len(rows)} stretches of its own" if rows else "of the card"


def _name(part: Mapping[str, Any]) -> str:
    return str(part.get("name") or part.get("file") or f"coupon {part.get('kind')}")


def _shown(value: Any) -> str:
    if value in (None, ""):
        return NOTHING
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return " ".join(f"{each:g}" if isinstance(each, float) else str(each) for each in value)
    return str(value)
