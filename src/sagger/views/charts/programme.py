"""Furnace and oven over time, for the screen: what the pieces do, on the hours of the programme above it.

Curves differ in kind as well as in colour; a faint one shows how it was planned before.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from sagger import units
from sagger.errors import InputError
from sagger.goods.plain import Plain, text
from sagger.goods.planned import PlanCure, PlanFiring
from sagger.views.charts.screen import Curve, PlottedStretch, Strip
from sagger.views.pictures.palette import web

START = 20.0  # °C, before heating
NOW = "with the curve as set"
BEFORE = "as planned"
ROWS = {"rate": ("heating_rate", "K/min"), "target": ("temperature", "degC"), "hold": ("time", "min")}
SHRINKAGE = "mean linear shrinkage"

Course = Mapping[str, Sequence[float]]


def furnace(fired: PlanFiring, before: PlanFiring | None = None, *, weak: bool = False) -> tuple[Strip, ...]:
    """Density, mean linear shrinkage and burnout, and faintly those before.

    Parameters
    ----------
    fired, before : PlanFiring
        "sinter" of plan.json.
    weak : bool
        Whether figures from memory or assumed stand behind it.
    """
    courses = [_course(run) for run in (fired, before) if run]
    density, u = fired.final_relative_density_percent, fired.final_relative_density_u_percent
    shrunk, gone = 100 * (1 - sum(fired.ratio) / 3), courses[0]["gone"][-1]
    lowest = 5 * (min(min(course["density"]) for course in courses) // 5)
    return (
        _strip("relative density", courses, "density", (lowest, 100), f"{density:.1f} ± {u:.1f} %", weak),
        _strip(SHRINKAGE, courses, "shrunk", _from_zero(courses, "shrunk"), f"{shrunk:.1f} %", weak),
        _strip("binder gone", courses, "gone", (0, 100), f"{gone:.1f} %", weak),
    )


def cooling(fired: PlanFiring) -> tuple[Curve, ...]:
    """The furnace's temperature as computed, cooling included."""
    curve = fired.curve
    return (_curve("furnace, cooling included", curve.time_h, curve.temperature_degC, "dotted", 7),)


def oven(
    cure: PlanCure, before: PlanCure | None = None, *, weak: bool = False
) -> tuple[tuple[Curve, ...], tuple[Strip, ...]]:
    """Coldest and hottest piece, and how far they are cured.

    Parameters
    ----------
    cure, before : PlanCure
        "cure" of a box of plan.json.
    weak : bool
        Whether figures from memory or assumed stand behind it.
    """
    course = cure.course
    hours = course.time_h
    above = [
        _curve("oven until the box is open", hours, course.oven_degC, "dotted", 7),
        _curve("coldest piece (core)", hours, course.core_degC, "dashed", 1),
        _curve("hottest piece", hours, course.corner_degC, "solid", 5),
    ]
    beneath = [
        _curve("coldest piece (core)", hours, course.core_cure_percent, "dashed", 1),
        _curve("hottest piece", hours, course.corner_cure_percent, "solid", 5),
    ]
    if before:
        old, name = before.course, f"core, {BEFORE}"
        above.append(_curve(name, old.time_h, old.core_degC, "dashed", 1, faint=True))
        beneath.append(_curve(name, old.time_h, old.core_cure_percent, "dashed", 1, faint=True))
    outcome = f"last piece cured to {cure.degree_percent:.0f} % after {cure.time_to_cure_h:.2f} h"
    return tuple(above), (Strip("degree of cure", "%", (0, 100), outcome, weak, tuple(beneath)),)


def stretches(rows: Sequence[Mapping[str, Plain]]) -> list[PlottedStretch]:
    """Stretches as an order file has them, as numbers.

    They end before the first that cannot be read.
    """
    out: list[PlottedStretch] = []
    for row in rows:
        try:
            numbers = {
                key: units.into(units.read(text(row, key) or "0 min", kind), word)
                for key, (kind, word) in ROWS.items()
            }
        except InputError:
            break
        if numbers["rate"] <= 0:
            break
        name = f"{row['stage']}, {row['atmosphere']}" if "stage" in row else ""
        rate, target, hold = (float(f"{numbers[key]:.10g}") for key in ("rate", "target", "hold"))
        out.append(PlottedStretch(rate, target, hold, name))
    return out


def written(row: Mapping[str, float]) -> dict[str, str]:
    """A stretch in numbers as an order file has it."""
    return {key: f"{row[key]:g} {word}" for key, (_, word) in ROWS.items()}


def _course(fired: PlanFiring) -> Course:
    curve = fired.curve
    density = curve.relative_density_percent
    # Mass stays: the length goes with the cube root of green over present density.
    shrunk = [100 * (1 - (density[0] / now) ** (1 / 3)) for now in density]
    return {"hours": curve.time_h, "density": density, "shrunk": shrunk, "gone": curve.burnout_percent}


def _from_zero(courses: Sequence[Course], key: str) -> tuple[float, float]:
    most = max(max(course[key]) for course in courses)
    return 0, max(5, 5 * (int(most) // 5 + 1))


def _strip(
    name: str, courses: Sequence[Course], key: str, ends: tuple[float, float], outcome: str, weak: bool
) -> Strip:
    """A strip of what is now and, where there are two courses, of what was before."""
    curves = [_curve(NOW, courses[0]["hours"], courses[0][key], "solid", 1)]
    if len(courses) > 1:
        curves.append(_curve(BEFORE, courses[1]["hours"], courses[1][key], "dashed", 1, faint=True))
    return Strip(name, "%", ends, f"ends at {outcome}", weak, tuple(curves))


def _curve(
    name: str, hours: Sequence[float], values: Sequence[float], kind: str, tone: int, *, faint: bool = False
) -> Curve:
    points = tuple((round(at, 4), round(value, 3)) for at, value in zip(hours, values, strict=True))
    return Curve(name, points, kind, web(tone), faint)
