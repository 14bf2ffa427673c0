"""Two plans side by side: what each comes to, and by how much they differ."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

from sagger.goods.good import good
from sagger.goods.planned import PlanBox, PlanFiring, WholePlan
from sagger.views.wording import digits, moment
from sagger.views.words.standing import Rest, rest


@good
class Pair:
    """One line of the comparison."""

    group: str
    name: str
    unit: str
    one: str
    other: str
    differs: str  # "+12.5", "" if it does not or cannot be told as a number
    better: str  # "one", "other" or "": which of the two a shop would rather have, if that is plain
    rests: tuple[Rest, Rest]


class Measure(NamedTuple):
    """What is compared: a figure of each plan."""

    group: str
    name: str
    unit: str  # "" of a price: the plan's currency
    room: str  # step whose cards it rests on
    read: Callable[[WholePlan], float | None]
    higher: bool | None  # whether more is better; None: neither
    places: int | None = None  # after the point; None: a few digits


def compare(one: WholePlan, other: WholePlan) -> tuple[Pair, ...]:
    """Every line of the comparison of two jobs that were planned.

    Parameters
    ----------
    one, other : WholePlan
        The plan of each.
    """
    return (*_odds(one, other), *_figures(one, other), *_dates(one, other))


def pair(of: Measure, one: WholePlan, other: WholePlan) -> Pair | None:
    """One line of a comparison; None if neither plan has the figure."""
    values = of.read(one), of.read(other)
    if values == (None, None):
        return None
    texts = [_text(value, of.places) for value in values]
    differs, better = _difference(values, texts, of.higher)
    return Pair(
        group=of.group,
        name=of.name,
        unit=of.unit or (one.quote.currency if of.group == PRICE else ""),
        one=texts[0],
        other=texts[1],
        differs=differs,
        better=better,
        rests=(rest(one, of.room), rest(other, of.room)),
    )


def _odds(one: WholePlan, other: WholePlan) -> Iterator[Pair]:
    for size in dict.fromkeys((*_chances(one), *_chances(other))):
        of = Measure("Chance inside tolerance", size, "%", "shrink", _chance_of(size), True, 1)
        yield from _there(pair(of, one, other))


def _chance_of(size: str) -> Callable[[WholePlan], float | None]:
    return lambda plan: _chances(plan).get(size)


def _chances(plan: WholePlan) -> dict[str, float]:
    """Chance by part, dimension and nominal size."""
    names = [part.name for part in plan.parts]
    chances = {}
    for promise in plan.quote.promises:
        size = f"{names[promise.part]}, {promise.dimension} {promise.nominal_mm:.2f} mm"
        chances[size] = promise.chance_percent
    return chances


def _sum(read: Callable[[PlanBox], float]) -> Callable[[WholePlan], float]:
    """Reads a figure of every box, and adds them up."""
    return lambda plan: float(sum(read(box) for box in plan.boxes))


def _fired(read: Callable[[PlanFiring], float]) -> Callable[[WholePlan], float | None]:
    """Reads a figure of the furnace run; None for sand."""
    return lambda plan: None if plan.sinter is None else read(plan.sinter)


PRICE, POWDER = "Price", "Powder and binder"
MEASURES = (
    Measure("Time", "printing", "h", "cycle", _sum(lambda box: box.times.build_h), False),
    Measure("Time", "one layer", "s", "cycle", lambda plan: plan.times.layer_s, False),
    Measure("Time", "layers", "", "layers", _sum(lambda box: box.layers.count), None),
    Measure("Time", "oven, hold", "h", "cure", _sum(lambda box: box.cure.hold_h), False),
    Measure("Time", "oven, cooling", "h", "cure", _sum(lambda box: box.cure.cool_h), False),
    Measure("Time", "furnace run", "h", "sinter", _fired(lambda run: run.run_h), False),
    Measure(POWDER, "powder fed", "kg", "dosing", _sum(lambda box: box.powder.fed_kg), False),
    Measure(POWDER, "powder lost", "kg", "dosing", _sum(lambda box: box.powder.lost_kg), False),
    Measure(POWDER, "binder", "mL", "dosing", _sum(lambda box: box.binder.volume_mL), False),
    Measure(POWDER, "saturation as printed", "%", "dosing", lambda plan: plan.drops.saturation_percent, None),
    Measure(
        POWDER,
        "saturation asked",
        "%",
        "dosing",
        lambda plan: plan.drops.saturation_asked_percent,
        None,
    ),
    Measure("Box", "boxes", "", "nest", lambda plan: len(plan.boxes), False),
    Measure("Box", "height of the first", "mm", "nest", lambda plan: plan.boxes[0].height_mm, None),
    Measure("Box", "filled, first", "%", "nest", lambda plan: plan.boxes[0].density_percent, True),
    Measure(
        "Furnace",
        "relative density",
        "%",
        "sinter",
        _fired(lambda run: run.final_relative_density_percent),
        True,
    ),
    Measure(
        "Furnace",
        "its standard uncertainty",
        "%",
        "sinter",
        _fired(lambda run: run.final_relative_density_u_percent),
        False,
    ),
    Measure(PRICE, "whole order", "", "cost", lambda plan: plan.quote.total, False, 2),
    Measure(PRICE, "pieces expected good", "%", "cost", lambda plan: plan.quote.yield_percent, True),
)


def _figures(one: WholePlan, other: WholePlan) -> Iterator[Pair]:
    for measure in MEASURES:
        yield from _there(pair(measure, one, other))


def _dates(one: WholePlan, other: WholePlan) -> Iterator[Pair]:
    ready = [plan.quote.ready for plan in (one, other)]
    yield Pair(
        group="Date",
        name="ready",
        unit="",
        one=moment(ready[0]),
        other=moment(ready[1]),
        differs="",
        better="" if ready[0] == ready[1] else "one" if ready[0] < ready[1] else "other",
        rests=(rest(one, "cost"), rest(other, "cost")),
    )


def _there(line: Pair | None) -> tuple[Pair, ...]:
    return () if line is None else (line,)


def _difference(
    values: tuple[float | None, float | None], texts: Sequence[str], higher: bool | None
) -> tuple[str, str]:
    """By how much the second differs as a person reads the two, and which is better."""
    one, other = values
    if one is None or other is None or texts[0] == texts[1]:
        return "", ""
    # Of the two as they are told, so that a reader who subtracts comes to the same.
    places = max(len(text.partition(".")[2]) for text in texts)
    apart = abs(_number(texts[1]) - _number(texts[0]))
    differs = f"{'+' if other > one else '−'}{_text(apart, places)}"
    if higher is None:
        return differs, ""
    return differs, "other" if (other > one) == higher else "one"


def _number(text: str) -> float:
    return float(text.replace(" ", ""))


def _text(value: float | None, places: int | None) -> str:
    if value is None:
        return "–"
    if isinstance(value, int) or (places is None and float(value).is_integer()):
        return f"{value:,.0f}".replace(",", " ")
    return f"{value:,.{places}f}".replace(",", " ") if places is not None else digits(value)
