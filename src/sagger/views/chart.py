"""Charts for paper, as SVG; drawn in black so that any printer does them justice."""

from __future__ import annotations

import math
from html import escape

import numpy as np
from numpy import ndarray

from sagger.goods.cured import Cured
from sagger.goods.powder import Segment
from sagger.goods.sintered import Sintered
from sagger.units import into
from sagger.views.wording import digits, share

_WIDTH, _HEIGHT = 620, 330
_LEFT, _RIGHT, _TOP, _BOTTOM = 58, 562, 40, 286
_POINTS = 400  # of a curve: one per pixel is enough
_STEPS = (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200, 250, 500)
_FONT = 'font-family="Libertinus Serif, Georgia, serif" font-size="13"'


def furnace(sintered: Sintered) -> str:
    """The furnace run over time: temperature, relative density, binder gone, atmosphere; as SVG text."""
    hours = sintered.time / 3600
    celsius = sintered.temperature + into(0.0, "degC")
    end = max(float(sintered.run) / 3600, float(hours[-1]))
    hot = _ceiling(float(celsius.max()))
    body = [
        _bands(sintered.programme, float(celsius[0]), end),
        _grid(end, hot, "density, burnout, %", "hours from start of heating"),
        _curve(hours / end, celsius / hot, "2.2", ""),
        _curve(hours / end, sintered.density, "1.6", "7 3"),
        _curve(hours / end, sintered.burnout, "1.4", "1.5 3"),
        _marks(sintered, hours, celsius, end, hot),
    ]
    return _drawing(body)


def cure(cured: Cured) -> str:
    """The stay in the oven over time: oven, coldest and hottest piece, cure of the last; as SVG text."""
    course, zero = cured.course, into(0.0, "degC")
    hours = course.time / 3600
    end = max(float(hours[-1]), 1e-6)
    oven, core, corner = (each + zero for each in (course.oven, course.core, course.corner))
    hot = _ceiling(float(max(oven.max(), corner.max())), 100)
    body = [
        _grid(end, hot, "cure of the last piece, %", "hours from closing the oven"),
        _curve(hours / end, oven / hot, "1.0", "5 2 1 2"),
        _curve(hours / end, corner / hot, "1.2", "7 3"),
        _curve(hours / end, core / hot, "2.2", ""),
        _curve(hours / end, course.core_degree, "1.4", "1.5 3"),
        _cure_marks(cured, end, hot),
    ]
    return _drawing(body)


def _drawing(body: list[str]) -> str:
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH} {_HEIGHT}" {_FONT}>'
    white = f'<rect width="{_WIDTH}" height="{_HEIGHT}" fill="white"/>'
    return "".join([head, white, *body, "</svg>"])


def _x(share_of_time: float) -> float:
    return _LEFT + (_RIGHT - _LEFT) * share_of_time


def _y(share_of_height: float) -> float:
    return _BOTTOM - (_BOTTOM - _TOP) * share_of_height


def _ceiling(hottest: float, grain: float = 200.0) -> float:
    """End of the temperature axis: room for a label above the peak."""
    return max(100.0, grain * math.ceil(hottest * 1.08 / grain))


def _step(span: float, most: int) -> float:
    """Distance of ticks such that at most `most` fit."""
    return next((step for step in _STEPS if span / step <= most), math.ceil(span / most / 100) * 100.0)


def _text(x: float, y: float, words: str, anchor: str = "middle", more: str = "") -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" {more}>{escape(words)}</text>'


def _line(x1: float, y1: float, x2: float, y2: float, tone: str = "#000", width: float = 1.0) -> str:
    ends = f'x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}"'
    return f'<line {ends} stroke="{tone}" stroke-width="{width}"/>'


def _grid(end: float, hot: float, right: str, below: str) -> str:
    parts = []
    every = _step(end, 12)
    for hour in np.arange(0, end * (1 + 1e-9), every):
        x = _x(hour / end)
        parts += [_line(x, _BOTTOM, x, _BOTTOM + 5), _text(x, _BOTTOM + 19, f"{hour:g}")]
    rise = _step(hot, 8)
    for celsius in np.arange(0, hot + 1e-9, rise):
        y = _y(celsius / hot)
        parts += [_line(_LEFT, y, _RIGHT, y, "#ccc", 0.6), _text(_LEFT - 7, y + 4, f"{celsius:g}", "end")]
    parts += [_text(_RIGHT + 7, _y(part / 100) + 4, f"{part}", "start") for part in range(0, 101, 20)]
    parts += [_line(_LEFT, y, _RIGHT, y) for y in (_TOP, _BOTTOM)]
    parts += [_line(x, _TOP, x, _BOTTOM) for x in (_LEFT, _RIGHT)]
    middle = (_TOP + _BOTTOM) / 2
    for x, words in ((14, "temperature, °C"), (_WIDTH - 8, right)):
        parts.append(_text(x, middle, words, more=f'transform="rotate(-90 {x} {middle})"'))
    parts.append(_text((_LEFT + _RIGHT) / 2, _HEIGHT - 8, below))
    return "".join(parts)


def _curve(across: ndarray, up: ndarray, width: str, dashes: str) -> str:
    count = len(across)
    picked = np.unique(np.linspace(0, count - 1, min(count, _POINTS)).round().astype(int))
    points = " ".join(f"{_x(float(across[i])):.1f},{_y(float(up[i])):.1f}" for i in picked)
    style = f'fill="none" stroke="#000" stroke-width="{width}" stroke-dasharray="{dashes}"'
    return f'<polyline points="{points}" {style} stroke-linejoin="round"/>'


def _bands(programme: tuple[Segment, ...], start: float, end: float) -> str:
    """Shade behind each stage, its name above, and the atmosphere of each stretch."""
    parts, at, heat, begun = [], 0.0, start, 0.0
    for number, segment in enumerate(programme):
        target = into(segment.target, "degC")
        at += abs(target - heat) / segment.rate / 3600 + segment.hold / 3600
        heat = target
        following = programme[number + 1] if number + 1 < len(programme) else None
        if following and (following.stage, following.atmosphere) == (segment.stage, segment.atmosphere):
            continue
        left, right = _x(min(begun / end, 1)), _x(min(at / end, 1))
        tone = "#f1f1f1" if segment.stage == "debinding" else "#e2e2e2"
        size = f'width="{right - left:.1f}" height="{_BOTTOM - _TOP}"'
        parts.append(f'<rect x="{left:.1f}" y="{_TOP}" {size} fill="{tone}"/>')
        middle = (left + right) / 2
        parts.append(_text(middle, _TOP - 21, segment.stage))
        parts.append(_text(middle, _TOP - 6, segment.atmosphere, more='font-style="italic" font-size="12"'))
        begun = at
    return "".join(parts)


def _marks(sintered: Sintered, hours: ndarray, celsius: ndarray, end: float, hot: float) -> str:
    """Peak and end values, and names beside the curves."""
    top = int(np.argmax(celsius))
    peak = _text(
        _x(float(hours[top]) / end), _y(float(celsius[top]) / hot) - 7, f"{digits(float(celsius[top]), 4)} °C"
    )
    dense = share(sintered.final_density)
    last = _text(_x(float(hours[-1]) / end), _y(float(sintered.density[-1])) + 17, f"density {dense}", "end")
    half = int(np.searchsorted(sintered.burnout, 0.5))
    half = min(half, len(hours) - 1)
    gone = _text(_x(float(hours[half]) / end) + 7, _y(0.5) + 16, "binder gone", "start")
    return peak + last + gone


def _cure_marks(cured: Cured, end: float, hot: float) -> str:
    """When heating ends and when the last piece is cured, as lines, and names beside the curves."""
    parts = []
    marks = [(cured.time_to_cure, f"{share(cured.degree, 0)} cured", 6), (cured.hold, "heating ends", 21)]
    for seconds, words, lift in marks:
        x = _x(min(seconds / 3600 / end, 1.0))
        parts += [_line(x, _TOP - lift + 3, x, _BOTTOM, "#888", 0.8), _text(x, _TOP - lift, words)]
    course = cured.course
    names = ((course.corner, "hottest piece", "end", -8), (course.core, "coldest piece", "start", 14))
    for history, words, anchor, drop in names:
        celsius = history + into(0.0, "degC")
        middle = int(np.argmax(celsius >= celsius[0] + 0.55 * (celsius.max() - celsius[0])))
        x, y = _x(float(course.time[middle]) / 3600 / end), _y(float(celsius[middle]) / hot)
        halo = 'stroke="#fff" stroke-width="4" paint-order="stroke"'
        parts.append(_text(x + (5 if anchor == "start" else -5), y + drop, words, anchor, halo))
    return "".join(parts)
