"""Furnace and oven over time, for the screen: what the pieces do, on the hours of the programme above it.

Lines differ in kind as well as in colour; a faint one shows how it was planned before.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sagger import units
from sagger.errors import InputError
from sagger.views.palette import web

Line = dict[str, Any]  # name, hours, values, kind, tone, faint
Strip = dict[str, Any]  # name, unit, low, high, told, weak, lines
START = 20.0  # °C, before heating
NOW = "with the curve as set"
BEFORE = "as planned"
ROWS = {"rate": ("heating_rate", "K/min"), "target": ("temperature", "degC"), "hold": ("time", "min")}


def furnace(
    fired: Mapping[str, Any], before: Mapping[str, Any] | None = None, *, weak: bool = False
) -> tuple[Strip, ...]:
    """Density, mean linear shrinkage and burnout, and faintly those before.

    Parameters
    ----------
    fired, before : mapping
        "sinter" of plan.json.
    weak : bool
        Whether figures from memory or assumed stand behind it.
    """
    both = [_courses(each) for each in (fired, before) if each]
    density = (
        f"{fired['final_relative_density_percent']:.1f} ± {fired['final_relative_density_u_percent']:.1f} %"
    )
    shrunk = 100 * (1 - sum(fired["ratio"]) / 3)
    lows = [min(course["density"]) for course in both]
    strips = (
        _strip("relative density", both, "density", (5 * (min(lows) // 5), 100), f"ends at {density}"),
        _strip("mean linear shrinkage", both, "shrunk", _around(both, "shrunk"), f"ends at {shrunk:.1f} %"),
        _strip("binder gone", both, "gone", (0, 100), f"ends at {both[0]['gone'][-1]:.1f} %"),
    )
    return tuple(each | {"weak": weak} for each in strips)


def cooling(fired: Mapping[str, Any]) -> tuple[Line, ...]:
    """The furnace's temperature as computed, cooling included."""
    curve = fired["curve"]
    return (_line("furnace, cooling included", curve["time_h"], curve["temperature_degC"], "dotted", 7),)


def oven(
    cure: Mapping[str, Any], before: Mapping[str, Any] | None = None, *, weak: bool = False
) -> tuple[list[Line], list[Strip]]:
    """Coldest and hottest piece, and how far they are cured.

    Parameters
    ----------
    cure, before : mapping
        "cure" of a box of plan.json.
    weak : bool
        Whether figures from memory or assumed stand behind it.
    """
    course = cure["course"]
    hours = course["time_h"]
    above = [
        _line("oven until the box is open", hours, course["oven_degC"], "dotted", 7),
        _line("coldest piece (core)", hours, course["core_degC"], "dashed", 1),
        _line("hottest piece", hours, course["corner_degC"], "solid", 5),
    ]
    beneath = [
        _line("coldest piece (core)", hours, course["core_cure_percent"], "dashed", 1),
        _line("hottest piece", hours, course["corner_cure_percent"], "solid", 5),
    ]
    if before:
        old = before["course"]
        above.append(_line(f"core, {BEFORE}", old["time_h"], old["core_degC"], "dashed", 1, faint=True))
        beneath.append(
            _line(f"core, {BEFORE}", old["time_h"], old["core_cure_percent"], "dashed", 1, faint=True)
        )
    told = f"last piece cured to {cure['degree_percent']:.0f} % after {cure['time_to_cure_h']:.2f} h"
    strip = {"name": "degree of cure", "unit": "%", "low": 0, "high": 100, "told": told, "lines": beneath}
    return above, [strip | {"weak": weak}]


def stretches(rows: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Stretches as an order file has them, as numbers: rate [K/min], target [°C], hold [min], name.

    They end before the first that cannot be read.
    """
    out: list[dict[str, Any]] = []
    for row in rows:
        try:
            said = {
                key: units.into(units.read(str(row.get(key) or "0 min"), kind), word)
                for key, (kind, word) in ROWS.items()
            }
        except InputError:
            break
        if said["rate"] <= 0:
            break
        name = f"{row['stage']}, {row['atmosphere']}" if "stage" in row else ""
        out.append({key: float(f"{value:.10g}") for key, value in said.items()} | {"name": name})
    return out


def written(row: Mapping[str, float]) -> dict[str, str]:
    """A stretch in numbers as an order file has it."""
    return {key: f"{row[key]:g} {word}" for key, (_, word) in ROWS.items()}


def _courses(fired: Mapping[str, Any]) -> dict[str, list[float]]:
    curve = fired["curve"]
    density = curve["relative_density_percent"]
    # Mass stays: the length goes with the cube root of green over present density.
    shrunk = [100 * (1 - (density[0] / each) ** (1 / 3)) for each in density]
    return {"hours": curve["time_h"], "density": density, "shrunk": shrunk, "gone": curve["burnout_percent"]}


def _around(both: Sequence[Mapping[str, Sequence[float]]], key: str) -> tuple[int, int]:
    most = max(max(course[key]) for course in both)
    return 0, max(5, 5 * (int(most) // 5 + 1))


def _strip(
    name: str,
    both: Sequence[Mapping[str, Sequence[float]]],
    key: str,
    ends: tuple[float, float],
    told: str,
) -> Strip:
    lines = [_line(NOW, both[0]["hours"], both[0][key], "solid", 1)]
    if len(both) > 1:
        lines.append(_line(BEFORE, both[1]["hours"], both[1][key], "dashed", 1, faint=True))
    return {"name": name, "unit": "%", "low": ends[0], "high": ends[1], "told": told, "lines": lines}


def _line(
    name: str, hours: Sequence[float], values: Sequence[float], kind: str, tone: int, *, faint: bool = False
) -> Line:
    return {
        "name": name,
        "hours": [round(at, 4) for at in hours],
        "values": [round(value, 3) for value in values],
        "kind": kind,
        "tone": web(tone),
        "faint": faint,
    }
