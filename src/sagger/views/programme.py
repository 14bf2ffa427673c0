"""Furnace and oven over time, for the screen: what is set, and what the pieces do beneath it.

Each chart is an option of the page toolkit's chart library. Lines differ in kind as well as in colour.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sagger import units
from sagger.errors import InputError
from sagger.views.palette import web

Option = dict[str, Any]
START = 20.0  # °C, before heating
KINDS = ("solid", "dashed", "dotted", [12, 4, 2, 4])
_FAINT = {"lineStyle": {"color": "#80889050"}}
TONES = (1, 5, 7, 2)  # of the palette: those that stand out on light and on dark alike


def furnace(plan: Mapping[str, Any]) -> tuple[Option, Option]:
    """Temperature as set; below it density, mean linear shrinkage and burnout.

    Parameters
    ----------
    plan : mapping
        plan.json of a job that was fired.
    """
    curve = plan["sinter"]["curve"]
    hours, density = curve["time_h"], curve["relative_density_percent"]
    # Mass stays: the length goes with the cube root of green over present density.
    shrunk = [100 * (1 - (density[0] / each) ** (1 / 3)) for each in density]
    above = _chart("°C", [("furnace", hours, curve["temperature_degC"])], _bands(plan["sinter"]["programme"]))
    below = _chart(
        "%",
        [
            ("relative density", hours, density),
            ("mean linear shrinkage", hours, shrunk),
            ("binder gone", hours, curve["burnout_percent"]),
        ],
    )
    return above, below


def oven(plan: Mapping[str, Any], box: int) -> tuple[Option, Option]:
    """Oven, coldest and hottest piece; below it how far they are cured. `box` counts from 0."""
    course = plan["boxes"][box]["cure"]["course"]
    hours = course["time_h"]
    above = _chart(
        "°C",
        [
            ("oven", hours, course["oven_degC"]),
            ("coldest piece", hours, course["core_degC"]),
            ("hottest piece", hours, course["corner_degC"]),
        ],
    )
    below = _chart(
        "%",
        [
            ("cured least", hours, course["core_cure_percent"]),
            ("cured most", hours, course["corner_cure_percent"]),
        ],
    )
    return above, below


def drawn(rows: Sequence[Mapping[str, Any]]) -> Option:
    """The curve that stretches set while they are written; it ends before the first that cannot be read.

    Parameters
    ----------
    rows : sequence of mapping
        As an order file has them: rate, target and hold as text with units.
    """
    hours, heats = [0.0], [START]
    for row in rows:
        try:
            rate = units.read(str(row["rate"]), "heating_rate")
            target = units.into(units.read(str(row["target"]), "temperature"), "degC")
            hold = units.read(str(row.get("hold", "0 min")), "time")
        except InputError:
            break
        if rate <= 0:
            break
        hours += [hours[-1] + abs(target - heats[-1]) / rate / 3600, hours[-1]]
        hours[-1] = hours[-2] + hold / 3600
        heats += [target, target]
    return _chart("°C", [("as written", hours, heats)])


def price(plan: Mapping[str, Any]) -> Option:
    """The parts of a price as bars, largest on top."""
    quote = plan["quote"]
    lines = sorted(quote["lines"], key=lambda line: float(line["amount"]))
    names = [line["name"] for line in lines]
    return {
        "animation": False,
        "grid": {"left": 8, "right": 70, "top": 8, "bottom": 30, "containLabel": True},
        "tooltip": {"trigger": "item"},
        "xAxis": {
            "type": "value",
            "name": quote["currency"],
            "nameLocation": "middle",
            "nameGap": 28,
            "splitLine": _FAINT,
        },
        "yAxis": {"type": "category", "data": names, "axisLabel": {"fontSize": 15}},
        "series": [
            {
                "type": "bar",
                "name": quote["currency"],
                "data": [round(line["amount"], 2) for line in lines],
                "itemStyle": {"color": web(TONES[0])},
                "label": {"show": True, "position": "right", "fontSize": 15},
            }
        ],
    }


def _chart(
    unit: str, lines: Sequence[tuple[str, Sequence[float], Sequence[float]]], bands: Option | None = None
) -> Option:
    series = [_line(place, name, hours, values, unit) for place, (name, hours, values) in enumerate(lines)]
    if bands:
        series[0]["markArea"] = bands
    return {
        "animation": False,
        "grid": {"left": 62, "right": 20, "top": 46, "bottom": 48},
        "legend": {"top": 4, "itemWidth": 44, "textStyle": {"fontSize": 15}},
        "tooltip": {"trigger": "axis"},
        "xAxis": {
            "type": "value",
            "name": "hours",
            "nameLocation": "middle",
            "nameGap": 28,
            "nameTextStyle": {"fontSize": 15},
            "axisLabel": {"fontSize": 15},
            "splitLine": _FAINT,
        },
        "yAxis": {
            "type": "value",
            "name": unit,
            "nameTextStyle": {"fontSize": 15},
            "axisLabel": {"fontSize": 15},
            "max": 100 if unit == "%" else None,
            "splitLine": _FAINT,
        },
        "series": series,
    }


def _line(place: int, name: str, hours: Sequence[float], values: Sequence[float], unit: str) -> Option:
    tone = web(TONES[place % len(TONES)])
    points = [[round(at, 4), round(value, 3)] for at, value in zip(hours, values, strict=True)]
    return {
        "type": "line",
        "name": f"{name}, {unit}",
        "data": points,
        "showSymbol": False,
        "color": tone,
        "lineStyle": {"type": KINDS[place % len(KINDS)], "width": 3, "color": tone},
    }


def _bands(programme: Sequence[Mapping[str, Any]]) -> Option:
    """A name over the stretches of each stage and atmosphere, from the start of heating at 20 °C."""
    spans: list[tuple[str, float, float]] = []
    at, heat = 0.0, START
    for each in programme:
        begun = at
        at += abs(each["target_degC"] - heat) / each["rate_K_per_min"] / 60 + each["hold_min"] / 60
        heat = each["target_degC"]
        name = f"{each['stage']}, {each['atmosphere']}"
        if spans and spans[-1][0] == name:
            spans[-1] = (name, spans[-1][1], at)
        else:
            spans.append((name, begun, at))
    return {
        "silent": True,
        "itemStyle": {
            "color": "transparent",
            "borderColor": "#808890",
            "borderWidth": 1,
            "borderType": "dotted",
        },
        "label": {"position": "insideTop", "fontSize": 14},
        "data": [[{"name": name, "xAxis": begun}, {"xAxis": end}] for name, begun, end in spans],
    }
