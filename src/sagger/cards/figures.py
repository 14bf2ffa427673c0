"""A figure as a card writes it becomes a `Figure`, or is refused."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator, Mapping

from sagger import units
from sagger.cards.place import CardSpot, Table, near, no_strangers, refusal
from sagger.errors import InputError
from sagger.goods.figure import STANDINGS, Figure
from sagger.goods.powder import Segment

PARTS = ("value", "source", "where", "standing", "range", "u")
DIFFERENCE = "difference"  # kind of a temperature that is one: a scale's zero has no part in it
MAY_BE_ZERO = (
    "pure",
    "angle",
    "time",
    "money",
    "price_per_mass",
    "price_per_volume",
    "price_per_time",
    DIFFERENCE,
)
SLACK = 1e-9  # of a value, when it is compared with the ends of its range


def figure(entry: object, kind: str, place: CardSpot) -> Figure:
    """A figure with value, uncertainty, source, place and standing.

    Parameters
    ----------
    entry : mapping
        What the card says: value, source, where, standing, and at most one of `u` and `range`.
    kind : str
        Kind of unit the value must have, see units.py; "difference" for a difference of temperatures.
    place : Place
        Where the entry stands.

    Returns
    -------
    Figure
        Its `u` is the one given, or half the range over the root of three, or 0.

    Raises
    ------
    CardError
        If a part is missing, unknown or does not fit.

    Source
    ------
    Uncertainty of a range: rectangular distribution, JCGM 100:2008, 4.3.7.
    """
    if not isinstance(entry, Mapping):
        remedy = f'Write [{place.field}] with value = "…", source, where and standing.'
        raise refusal(place, "a figure is a table with unit and source", entry, remedy)
    no_strangers(entry, PARTS, place)
    printed = word(entry, "value", place)
    value = amount(printed, kind, place)
    source, where, standing = trust(entry, place)
    u = _uncertainty(entry, value, kind, place)
    return Figure(value=value, u=u, printed=printed, source=source, where=where, standing=standing)


def trust(entry: Table, place: CardSpot) -> tuple[str, str, str]:
    """Source, place in it, and standing; `CardError` if the source or the standing is unknown."""
    source, where, standing = (word(entry, part, place) for part in ("source", "where", "standing"))
    if source not in place.sources:
        remedy = f"Add it to sources.toml, or cite another. {near(source, place.sources)}"
        raise refusal(place.below("source"), "no source has this key", source, remedy)
    if standing not in STANDINGS:
        remedy = f"One of: {', '.join(STANDINGS)}."
        raise refusal(place.below("standing"), "this is no standing", standing, remedy)
    return source, where, standing


def amount(text: object, kind: str, place: CardSpot) -> float:
    """SI value of text such as "1.23 g/cm3", finite and not below what its kind can be."""
    if not isinstance(text, str):
        raise refusal(
            place, "a figure is text with its unit", text, 'Write it in quotes, such as "1.23 g/cm3".'
        )
    try:
        value = units.span(text, "temperature") if kind == DIFFERENCE else units.read(text, kind)
    except InputError as fault:
        raise refusal(place, fault.what, text, fault.remedy) from fault
    if not math.isfinite(value) or value < 0 or (value == 0 and kind not in MAY_BE_ZERO):
        least = "zero or more" if kind in MAY_BE_ZERO else "more than zero"
        raise refusal(place, f"this must be finite and {least}", text)
    if kind == "count" and value != round(value):
        raise refusal(place, "this is counted in whole numbers", text)
    return value


def word(entry: Table, part: str, place: CardSpot) -> str:
    """The text of one part of a figure."""
    text = entry.get(part, "")
    if isinstance(text, str) and text.strip():
        return text
    raise refusal(
        place.below(part), f"a figure needs its {part}", text, f'Write {part} = "…" below [{place.field}].'
    )


def figures(good: object, path: str = "") -> Iterator[tuple[str, Figure]]:
    """Every figure in a good, with its dotted field name."""
    if isinstance(good, Figure):
        yield path, good
    elif isinstance(good, Segment):
        yield path, _stretch(good)
    elif isinstance(good, tuple):
        for index, item in enumerate(good, start=1):
            yield from figures(item, f"{path}[{index}]")
    elif dataclasses.is_dataclass(good):
        for field in dataclasses.fields(good):
            yield from figures(getattr(good, field.name), f"{path}.{field.name}" if path else field.name)


def _stretch(segment: Segment) -> Figure:
    """A stretch of a furnace programme as the figure that its target is."""
    rate, target = units.into(segment.rate, "K/min"), units.into(segment.target, "degC")
    hold = units.into(segment.hold, "min")
    return Figure(
        value=segment.target,
        u=0.0,
        printed=f"{rate:g} K/min to {target:g} degC, hold {hold:g} min, {segment.atmosphere}",
        source=segment.source,
        where=segment.where,
        standing=segment.standing,
    )


def _uncertainty(entry: Table, value: float, kind: str, place: CardSpot) -> float:
    if "u" in entry and "range" in entry:
        raise refusal(place, "`u` and `range` are both given", remedy="Keep one of the two.")
    if "u" in entry:
        kind = DIFFERENCE if kind == "temperature" else kind
        return amount(word(entry, "u", place), kind, place.below("u"))
    if "range" not in entry:
        return 0.0
    low, high = _ends(word(entry, "range", place), kind, place.below("range"))
    slack = SLACK * abs(value)
    if not low - slack <= value <= high + slack:
        remedy = f"Range: {entry['range']}. Widen it or mend the value."
        raise refusal(place, "the value lies outside its range", entry["value"], remedy)
    return (high - low) / 2 / math.sqrt(3)


def _ends(text: str, kind: str, place: CardSpot) -> tuple[float, float]:
    low, _, high = text.partition(" to ")
    if len(high.split()) != 2:
        raise refusal(place, "this is no range", text, 'Write it as "7.9 to 8.0 g/cm3".')
    unit = high.split()[1]
    first = amount(low if len(low.split()) > 1 else f"{low} {unit}", kind, place)
    last = amount(high, kind, place)
    if first > last:
        raise refusal(place, "the range runs backwards", text, "Swap its ends.")
    return first, last
