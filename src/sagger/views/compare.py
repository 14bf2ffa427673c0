"""Two plans side by side: what each comes to, and by how much they differ."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from sagger.goods.good import good
from sagger.views.standing import Rest, rest
from sagger.views.wording import digits, moment

Plan = Mapping[str, Any]


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


def compare(one: Plan, other: Plan) -> tuple[Pair, ...]:
    """Every line of the comparison of two jobs that were planned.

    Parameters
    ----------
    one, other : mapping
        plan.json of each.
    """
    return (*_odds(one, other), *_figures(one, other), *_dates(one, other))


def _odds(one: Plan, other: Plan) -> Iterator[Pair]:
    chances = [_chances(each) for each in (one, other)]
    for name in dict.fromkeys((*chances[0], *chances[1])):
        values = [each.get(name) for each in chances]
        rests = (rest(one, "shrink"), rest(other, "shrink"))
        yield pair("Chance inside tolerance", name, "%", values, rests, higher=True, places=1)


def _chances(plan: Plan) -> dict[str, float]:
    parts = plan["parts"]
    return {
        f"{parts[each['part']]['name']}, {each['dimension']} {each['nominal_mm']:.2f} mm": each[
            "chance_percent"
        ]
        for each in plan["quote"]["promises"]
    }


def _sum(plan: Plan, table: str, key: str) -> float:
    return float(sum(box[table][key] for box in plan["boxes"]))


# group, name, unit, step whose cards it rests on, what is read, whether more is better (None: neither)
_LINES: tuple[tuple[str, str, str, str, Any, bool | None], ...] = (
    ("Time", "printing", "h", "cycle", lambda plan: _sum(plan, "times", "build_h"), False),
    ("Time", "one layer", "s", "cycle", lambda plan: plan["times"]["layer_s"], False),
    ("Time", "layers", "", "layers", lambda plan: _sum(plan, "layers", "count"), None),
    ("Time", "oven, hold", "h", "cure", lambda plan: _sum(plan, "cure", "hold_h"), False),
    ("Time", "oven, cooling", "h", "cure", lambda plan: _sum(plan, "cure", "cool_h"), False),
    ("Time", "furnace run", "h", "sinter", lambda plan: plan["sinter"] and plan["sinter"]["run_h"], False),
    ("Powder and binder", "powder fed", "kg", "dosing", lambda plan: _sum(plan, "powder", "fed_kg"), False),
    ("Powder and binder", "powder lost", "kg", "dosing", lambda plan: _sum(plan, "powder", "lost_kg"), False),
    ("Powder and binder", "binder", "mL", "dosing", lambda plan: _sum(plan, "binder", "volume_mL"), False),
    (
        "Powder and binder",
        "saturation as printed",
        "%",
        "dosing",
        lambda plan: plan["drops"]["saturation_percent"],
        None,
    ),
    ("Box", "boxes", "", "nest", lambda plan: len(plan["boxes"]), False),
    ("Box", "height of the first", "mm", "nest", lambda plan: plan["boxes"][0]["height_mm"], None),
    ("Box", "filled, first", "%", "nest", lambda plan: plan["boxes"][0]["density_percent"], True),
    (
        "Furnace",
        "relative density",
        "%",
        "sinter",
        lambda plan: plan["sinter"] and plan["sinter"]["final_relative_density_percent"],
        True,
    ),
    (
        "Furnace",
        "its standard uncertainty",
        "%",
        "sinter",
        lambda plan: plan["sinter"] and plan["sinter"]["final_relative_density_u_percent"],
        False,
    ),
    ("Price", "whole order", "", "cost", lambda plan: plan["quote"]["total"], False),
    ("Price", "pieces expected good", "%", "cost", lambda plan: plan["quote"]["yield_percent"], True),
)


def _figures(one: Plan, other: Plan) -> Iterator[Pair]:
    for group, name, unit, room, read, higher in _LINES:
        values = [read(each) for each in (one, other)]
        if all(value is None for value in values):
            continue
        money = group == "Price" and not unit
        word = one["quote"]["currency"] if money else unit
        rests = (rest(one, room), rest(other, room))
        yield pair(group, name, word, values, rests, higher=higher, places=2 if money else None)


def _dates(one: Plan, other: Plan) -> Iterator[Pair]:
    ready = [each["quote"]["ready"] for each in (one, other)]
    better = "" if ready[0] == ready[1] else "one" if ready[0] < ready[1] else "other"
    rests = (rest(one, "cost"), rest(other, "cost"))
    said = [moment(each) for each in ready]
    yield Pair(
        group="Date",
        name="ready",
        unit="",
        one=said[0],
        other=said[1],
        differs="",
        better=better,
        rests=rests,
    )


def pair(
    group: str,
    name: str,
    unit: str,
    values: Sequence[float | None],
    rests: tuple[Rest, Rest],
    *,
    higher: bool | None,
    places: int | None = None,
) -> Pair:
    """One line of a comparison; `higher` says whether more is better, None for neither."""
    said = [_said(value, places) for value in values]
    one, other = values
    differs, better = "", ""
    if one is not None and other is not None and said[0] != said[1]:
        most = max(len(each.partition(".")[2]) for each in said)  # no finer than the two are told
        differs = f"{'+' if other > one else '−'}{_said(abs(other - one), most)}"
        if higher is not None:
            better = "other" if (other > one) == higher else "one"
    return Pair(
        group=group,
        name=name,
        unit=unit,
        one=said[0],
        other=said[1],
        differs=differs,
        better=better,
        rests=rests,
    )


def _said(value: float | None, places: int | None) -> str:
    if value is None:
        return "–"
    if isinstance(value, int) or (places is None and float(value).is_integer()):
        return f"{value:,.0f}".replace(",", " ")
    return f"{value:,.{places}f}".replace(",", " ") if places is not None else digits(value)
