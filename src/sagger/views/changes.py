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
    said = list(_tables(before, after, ("order", "cards", "choices")))
    for rows in ("part", "coupon"):
        for old, new in zip_longest(before.get(rows, []), after.get(rows, [])):
            if old is None or new is None:
                said.append(f"{_name(new or old)}: {'added' if old is None else 'taken out'}")
                continue
            said += [f"{_name(new)}, {line}" for line in _lines(old, new)]
    said += _programme(before.get("programme", []), after.get("programme", []))
    return tuple(said)


def _tables(before: Mapping[str, Any], after: Mapping[str, Any], names: tuple[str, ...]) -> Iterator[str]:
    for name in names:
        yield from _lines(before.get(name, {}), after.get(name, {}))


def _lines(old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[str]:
    for key in dict.fromkeys((*old, *new)):
        if old.get(key) != new.get(key):
            yield f"{key.replace('_', ' ')}: {_shown(old.get(key))} → {_shown(new.get(key))}"


def _programme(old: list[Mapping[str, Any]], new: list[Mapping[str, Any]]) -> list[str]:
    if old == new:
        return []
    return [
        f"furnace programme: {len(new)} stretches of its own" if new else "furnace programme: of the card"
    ]


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
