"""Charts for the screen: what the page toolkit's chart library is asked to draw, as plain mappings.

Colours that a theme decides are written as the page's own variables, "var(--ink)"; the element that draws
puts in what they are.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from sagger.goods.good import good

LEFT, RIGHT, HEAD, TOP, STRIP, GAP, FOOT = 68, 18, 30, 270, 74, 34, 84  # pixels, see `option`
FONT = {"color": "var(--ink)", "fontSize": 15, "fontFamily": "Roboto, system-ui, sans-serif"}
DASHES = {"solid": "solid", "dashed": [9, 5], "dotted": [2, 5]}
AS_SET = "as set"
WIDE = 760  # pixels that a chart usually has: names of stretches that need more are left out
LETTER = 8.2  # pixels

Point = tuple[float, float]


class Curve(NamedTuple):
    """Something over time."""

    name: str
    points: tuple[Point, ...]  # hour, value
    kind: str  # one of DASHES
    tone: str  # colour, "#rrggbb"
    faint: bool = False  # how it was before


class Strip(NamedTuple):
    """A small chart beneath, on the same hours."""

    name: str
    unit: str
    ends: tuple[float, float]  # of its axis
    outcome: str  # what it comes to, in words
    weak: bool  # whether figures from memory or assumed stand behind it
    curves: tuple[Curve, ...]


class PlottedStretch(NamedTuple):
    """A stretch of a programme in numbers."""

    rate: float  # [K/min]
    target: float  # [°C]
    hold: float = 0.0  # [min]
    name: str = ""


@good
class Heating:
    """A programme: the temperature as it is set, with what it does beside and beneath."""

    stretches: Sequence[PlottedStretch]
    set_point: PlottedStretch | None  # follows them, held as long as it takes
    start: float  # temperature at the beginning [°C]
    most: float  # temperature never gone beyond [°C]; 0 = unknown
    limit: str  # what stands there
    beside: tuple[Curve, ...]
    beneath: tuple[Strip, ...]


def corners(heating: Heating) -> tuple[Point, ...]:
    """Hour and temperature [°C] at each corner of the programme: its beginning, then two a stretch."""
    at, heat = 0.0, heating.start
    points: list[Point] = [(at, heat)]
    last = [heating.set_point] if heating.set_point else []
    for row in (*heating.stretches, *last):
        up = at + abs(row.target - heat) / max(row.rate, 1e-6) / 60
        at, heat = up + row.hold / 60, row.target
        points += [(up, heat), (at, heat)]
    return tuple(points)


def height(heating: Heating) -> int:
    """Of the whole chart [pixels]."""
    return HEAD + TOP + len(heating.beneath) * (STRIP + GAP) + FOOT


def option(heating: Heating) -> dict[str, object]:
    """What the chart library draws of a programme: temperature above, strips beneath on the same hours.

    Parameters
    ----------
    heating : Heating
        The programme and what it does.

    Returns
    -------
    dict
        As the library takes it. The first series is the programme as set.
    """
    points = corners(heating)
    hours, strips = _hours(heating, points), heating.beneath
    series = [_set(heating, points), *(_line(curve, 0, curve.name, "°C") for curve in heating.beside)]
    for place, strip in enumerate(strips, 1):
        several = len([curve for curve in strip.curves if not curve.faint]) > 1
        for curve in strip.curves:
            quantity = f"{strip.name}, {curve.name}" if several else strip.name
            series.append(_line(curve, place, quantity, strip.unit))
    return {
        "animation": False,
        "aria": {"enabled": True},
        "textStyle": FONT,
        "grid": [_grid(HEAD, TOP), *(_grid(_top(place), STRIP) for place in range(len(strips)))],
        "xAxis": [_x_axis(place, hours, last=place == len(strips)) for place in range(len(strips) + 1)],
        "yAxis": [_heat_axis(heating, points), *(_strip_axis(place, s) for place, s in enumerate(strips, 1))],
        "title": [_title(strip, _top(place)) for place, strip in enumerate(strips)],
        "axisPointer": {"link": [{"xAxisIndex": "all"}], "label": {"precision": 2}},
        "tooltip": _tooltip(),
        "legend": _legend(_names(series)),
        "series": series,
    }


def _hours(heating: Heating, points: Sequence[Point]) -> float:
    """End of the hours: of the programme and of all curves, and a little more."""
    curves = (*heating.beside, *(curve for strip in heating.beneath for curve in strip.curves))
    ends = [curve.points[-1][0] for curve in curves if curve.points]
    return 1.02 * max(1.0, points[-1][0], *ends)


def _highest(heating: Heating, points: Sequence[Point]) -> float:
    """End of the temperature: above all that is drawn, and above the limit where one comes near it."""
    heats = [heat for _, heat in (*points, *(point for curve in heating.beside for point in curve.points))]
    need = 1.08 * max(100.0, *heats)
    return max(1.06 * heating.most, need) if heating.most and need > 0.7 * heating.most else need


def _top(place: int) -> int:
    """Where a strip begins, counted from 0 [pixels]."""
    return HEAD + TOP + GAP + place * (STRIP + GAP)


def _grid(top: int, high: int) -> dict[str, object]:
    frame = {"show": True, "borderColor": "var(--faint)", "backgroundColor": "transparent"}
    return {"left": LEFT, "right": RIGHT, "top": top, "height": high, **frame}


def _x_axis(place: int, hours: float, *, last: bool) -> dict[str, object]:
    axis: dict[str, object] = {"type": "value", "gridIndex": place, "min": 0, "max": round(hours, 4)}
    axis |= {"splitLine": {"lineStyle": {"color": "var(--faint)"}}, "axisLine": {"show": False}}
    axis |= {"axisLabel": {**FONT, "show": last, "showMaxLabel": False}, "axisTick": {"show": False}}
    axis |= {"axisPointer": {"label": {"show": last}}}
    words = {"name": "hours", "nameLocation": "middle", "nameGap": 28, "nameTextStyle": FONT}
    return axis | (words if last else {})


def _heat_axis(heating: Heating, points: Sequence[Point]) -> dict[str, object]:
    name = {"name": "°C", "nameLocation": "end", "nameTextStyle": FONT | {"align": "right"}, "nameGap": 12}
    lines = {
        "splitLine": {"lineStyle": {"color": "var(--faint)"}},
        "axisLabel": FONT | {"showMaxLabel": False, "formatter": "{value}"},
    }
    most = round(_highest(heating, points), 1)
    return {"type": "value", "gridIndex": 0, "min": 0, "max": most, **name, **lines, **_no_pointer()}


def _strip_axis(place: int, strip: Strip) -> dict[str, object]:
    low, high = strip.ends
    ends = {"min": low, "max": high, "interval": high - low}
    lines = {"splitLine": {"show": False}, "axisLabel": FONT}
    return {"type": "value", "gridIndex": place, **ends, **lines, **_no_pointer()}


def _no_pointer() -> dict[str, object]:
    return {"axisPointer": {"show": False}}


def _title(strip: Strip, top: int) -> dict[str, object]:
    """Name, unit and outcome over a strip; ≈ where weak figures stand behind it."""
    outcome = f": {strip.outcome}" if strip.outcome else ""
    words = f"{strip.name}, {strip.unit}{outcome}{' ≈' if strip.weak else ''}"
    return {"text": words, "left": LEFT - 5, "top": top - 30, "textStyle": FONT | {"fontWeight": 500}}


def _tooltip() -> dict[str, object]:
    look = {"backgroundColor": "var(--sheet)", "borderColor": "var(--line)", "textStyle": FONT}
    return {"trigger": "axis", "confine": True, **look}


def _legend(names: list[str]) -> dict[str, object]:
    """Lines as they are drawn, without the dots that the library puts on them."""
    return {"bottom": 0, "textStyle": FONT, "itemWidth": 40, "itemStyle": {"opacity": 0}, "data": names}


def _set(heating: Heating, points: Sequence[Point]) -> dict[str, object]:
    """The programme as it is set, with the limit and the stages."""
    line = {"id": "set", "name": AS_SET, "type": "line", "symbol": "none", "silent": True, "z": 4}
    look = {"lineStyle": {"color": "var(--ink)", "width": 3.5}, "itemStyle": {"color": "var(--ink)"}}
    marks: dict[str, object] = {"markArea": _stages(heating, points)}
    if heating.most:
        marks["markLine"] = _limit(heating)
    return {**line, **look, "data": [list(point) for point in points], **marks}


def _limit(heating: Heating) -> dict[str, object]:
    label = FONT | {"formatter": heating.limit, "position": "insideEndTop"}
    style = {"color": "var(--stop)", "type": [2, 4], "width": 2}
    line = {"silent": True, "symbol": "none", "lineStyle": style, "label": label}
    return line | {"data": [{"yAxis": heating.most}]}


def _stages(heating: Heating, points: Sequence[Point]) -> dict[str, object]:
    """Stretches of one name together, with it where there is room."""
    hours, areas = _hours(heating, points), []
    for name, begin, end in _bands(heating, points):
        room = (end - begin) / hours * WIDE > LETTER * len(name)
        areas.append([{"name": name if room else "", "xAxis": begin}, {"xAxis": end}])
    border = {"color": "transparent", "borderColor": "var(--line)", "borderWidth": 1, "borderType": [1, 5]}
    label = FONT | {"position": "insideBottom"}
    return {"silent": True, "itemStyle": border, "label": label, "data": areas}


def _bands(heating: Heating, points: Sequence[Point]) -> Iterator[tuple[str, float, float]]:
    """Name, begin and end [h] of stretches of one name in a row."""
    names = [row.name for row in heating.stretches]
    begin = 0
    for place, name in enumerate(names):
        if place + 1 == len(names) or names[place + 1] != name:
            if name:
                yield name, points[2 * begin][0], points[2 * place + 2][0]
            begin = place + 1


def _line(curve: Curve, place: int, quantity: str, unit: str) -> dict[str, object]:
    """A curve in grid `place`: 0 is the temperature, then the strips; `quantity` is what is read out."""
    style: dict[str, object] = {"color": curve.tone, "width": 3, "type": DASHES[curve.kind]}
    if curve.faint:
        style |= {"width": 2, "type": [3, 4], "opacity": 0.7}
    where = {"xAxisIndex": place, "yAxisIndex": place, "symbol": "none"}
    points = [list(point) for point in curve.points]
    look = {"lineStyle": style, "itemStyle": {"color": curve.tone}}
    said = {"quantity": "" if curve.faint else quantity, "unit": unit}
    return {"name": curve.name, "type": "line", **said, **where, **look, "data": points}


def _names(series: Sequence[Mapping[str, object]]) -> list[str]:
    """Each name once, in order."""
    return list(dict.fromkeys(str(line["name"]) for line in series))
