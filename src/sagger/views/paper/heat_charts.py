"""Furnace run and stay in the oven as charts for paper, drawn in black for any printer."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from numpy import ndarray

from sagger.goods.cured import Cured
from sagger.goods.powder import Segment
from sagger.goods.sintered import Sintered
from sagger.units import into
from sagger.views.charts import plot
from sagger.views.charts.plot import Frame
from sagger.views.wording import digits, share

HALO = 'stroke="#fff" stroke-width="4" paint-order="stroke"'  # keeps words readable over a curve
BANDS = {"debinding": "#f1f1f1"}  # tone behind a stage; others are a little darker
BAND = "#e2e2e2"
FINE = 'font-style="italic" font-size="12"'


def furnace(sintered: Sintered) -> str:
    """The furnace run over time: temperature, relative density, binder gone, atmosphere; as SVG text."""
    hours, celsius = sintered.time / 3600, sintered.temperature + into(0.0, "degC")
    end = max(float(sintered.run) / 3600, float(hours[-1]))
    heat, percent = _frames(end, _ceiling(float(celsius.max()), 200))
    body = [
        *_bands(heat, sintered.programme, float(celsius[0])),
        plot.axes(heat, "", "hours from start of heating", "temperature, °C"),
        plot.right_axis(percent, "density, burnout, %"),
        _curve(heat, hours, celsius, 2.2),
        _curve(percent, hours, 100 * sintered.density, 1.6, "7 3"),
        _curve(percent, hours, 100 * sintered.burnout, 1.4, "1.5 3"),
        _furnace_words(sintered, heat, percent),
    ]
    return plot.svg(heat, body)


def cure(cured: Cured) -> str:
    """The stay in the oven over time: oven, coldest and hottest piece, cure of the last; as SVG text."""
    course, zero = cured.course, into(0.0, "degC")
    hours = course.time / 3600
    oven, core, corner = (kelvin + zero for kelvin in (course.oven, course.core, course.corner))
    hot = _ceiling(float(max(oven.max(), corner.max())), 100)
    heat, percent = _frames(max(float(hours[-1]), 1e-6), hot)
    body = [
        plot.axes(heat, "", "hours from closing the oven", "temperature, °C"),
        plot.right_axis(percent, "cure of the last piece, %"),
        _curve(heat, hours, oven, 1.0, "5 2 1 2"),
        _curve(heat, hours, corner, 1.2, "7 3"),
        _curve(heat, hours, core, 2.2),
        _curve(percent, hours, 100 * course.core_degree, 1.4, "1.5 3"),
        *_moments(cured, heat),
        _beside(heat, hours, corner, "hottest piece", ("end", -5, -8)),
        _beside(heat, hours, core, "coldest piece", ("start", 5, 14)),
    ]
    return plot.svg(heat, body)


def _frames(end: float, hot: float) -> tuple[Frame, Frame]:
    """One chart with two axes up: temperature to `hot` [°C], and per cent; hours to `end`."""
    heat = Frame((0.0, end), (0.0, hot), 620, 330, right=58, left=58, top=40, bottom=44)
    return heat, heat._replace(y=(0.0, 100.0))


def _ceiling(hottest: float, grain: float) -> float:
    """End of the temperature axis: room for a label above the peak."""
    return max(100.0, grain * math.ceil(hottest * 1.08 / grain))


def _curve(frame: Frame, hours: ndarray, values: ndarray, width: float, dash: str = "") -> str:
    return plot.group("curve", plot.line(frame, hours.tolist(), values.tolist(), "#000", width, dash))


def _bands(frame: Frame, programme: tuple[Segment, ...], start: float) -> Iterator[str]:
    """Shade behind each stage, its name above, and the atmosphere of each stretch."""
    end, low = frame.x[1], frame.y[0]
    at, heat, begun = 0.0, start, 0.0
    for number, segment in enumerate(programme):
        target = into(segment.target, "degC")
        at += abs(target - heat) / segment.rate / 3600 + segment.hold / 3600
        heat = target
        following = programme[number + 1] if number + 1 < len(programme) else None
        if following and (following.stage, following.atmosphere) == (segment.stage, segment.atmosphere):
            continue
        ends = min(begun, end), min(at, end)
        yield plot.cell(frame, ends, (low, frame.y[1]), BANDS.get(segment.stage, BAND))
        middle = frame.across(sum(ends) / 2)
        yield plot.text(middle, frame.top - 21, segment.stage)
        yield plot.text(middle, frame.top - 6, segment.atmosphere, more=FINE)
        begun = at


def _furnace_words(sintered: Sintered, heat: Frame, percent: Frame) -> str:
    """Peak and end values, and names beside the curves."""
    hours, celsius = sintered.time / 3600, sintered.temperature + into(0.0, "degC")
    top, last = int(np.argmax(celsius)), len(hours) - 1
    half = min(int(np.searchsorted(sintered.burnout, 0.5)), last)
    across = [heat.across(float(hours[place])) for place in (top, last, half)]
    peak, dense = float(celsius[top]), 100 * float(sintered.density[last])
    return "".join(
        (
            plot.text(across[0], heat.up(peak) - 7, f"{digits(peak, 4)} °C"),
            plot.text(
                across[1], percent.up(dense) + 17, f"density {share(sintered.final_density)}", "end", HALO
            ),
            plot.text(across[2] + 7, percent.up(50.0) + 16, "binder gone", "start", HALO),
        )
    )


def _moments(cured: Cured, frame: Frame) -> Iterator[str]:
    """When heating ends and when the last piece is cured, as lines with their names above."""
    cured_words = f"{share(cured.degree, 0)} cured"
    for seconds, words, lift in ((cured.time_to_cure, cured_words, 6), (cured.hold, "heating ends", 21)):
        at = min(seconds / 3600, frame.x[1])
        yield plot.line(frame, (at, at), frame.y, "#888", 0.8)
        yield plot.text(frame.across(at), frame.top - lift, words)


def _beside(
    frame: Frame, hours: ndarray, celsius: ndarray, words: str, place: tuple[str, float, float]
) -> str:
    """A name beside a curve, where it has come half its way up; `place` is anchor and distance in pixels."""
    anchor, right, down = place
    half = int(np.argmax(celsius >= celsius[0] + 0.55 * (celsius.max() - celsius[0])))
    x, y = frame.across(float(hours[half])) + right, frame.up(float(celsius[half])) + down
    return plot.text(x, y, words, anchor, HALO)
