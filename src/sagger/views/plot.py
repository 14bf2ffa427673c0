"""A frame for small charts as SVG: axes with ticks, points, lines, bands and words."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from html import escape
from typing import NamedTuple

import numpy as np

_FONT = 'font-family="Libertinus Serif, Georgia, serif" font-size="13"'
_LEFT, _RIGHT, _TOP, _BOTTOM = 62, 18, 34, 44


class Frame(NamedTuple):
    """What a chart shows: ranges of both axes, and its size in pixels."""

    x: tuple[float, float]
    y: tuple[float, float]
    width: float = 620
    height: float = 300
    right: float = _RIGHT  # of which this much is left free on the right

    def across(self, value: float) -> float:
        low, high = self.x
        return _LEFT + (self.width - _LEFT - self.right) * (value - low) / (high - low)

    def up(self, value: float) -> float:
        low, high = self.y
        return self.height - _BOTTOM - (self.height - _TOP - _BOTTOM) * (value - low) / (high - low)


def svg(frame: Frame, body: Iterable[str]) -> str:
    """A whole picture on white."""
    size = f'viewBox="0 0 {frame.width:g} {frame.height:g}" {_FONT}'
    white = f'<rect class="ground" width="{frame.width:g}" height="{frame.height:g}" fill="white"/>'
    return "".join([f'<svg xmlns="http://www.w3.org/2000/svg" {size}>', white, *body, "</svg>\n"])


def axes(frame: Frame, title: str, along: str, up: str, names: Sequence[str] = ()) -> str:
    """Frame, ticks and words; `names` stand below in place of numbers, evenly from 0."""
    parts = []
    for value in ticks(*frame.y, 6):
        y = frame.up(value)
        parts += [
            group("grid", line(frame, frame.x, (value, value), "#ddd", 0.6)),
            text(_LEFT - 6, y + 4, say(value), "end"),
        ]
    if names:
        parts += [text(frame.across(n), frame.height - 26, name) for n, name in enumerate(names)]
    else:
        parts += [text(frame.across(v), frame.height - 26, say(v)) for v in ticks(*frame.x, 10)]
    width, height = frame.width - _LEFT - frame.right, frame.height - _TOP - _BOTTOM
    size = f'width="{width:g}" height="{height:g}"'
    parts.append(f'<rect class="frame" x="{_LEFT}" y="{_TOP}" {size} fill="none" stroke="#000"/>')
    parts.append(text(frame.width / 2, 20, title, more='font-weight="bold"'))
    parts.append(text((_LEFT + frame.width - frame.right) / 2, frame.height - 8, along))
    middle = (_TOP + frame.height - _BOTTOM) / 2
    parts.append(text(14, middle, up, more=f'transform="rotate(-90 14 {middle:g})"'))
    return "".join(parts)


def group(kind: str, *body: str) -> str:
    """Marks of one kind; a page may give them tones of its own by this name."""
    return f'<g class="{kind}">{"".join(body)}</g>'


def ticks(low: float, high: float, most: int) -> list[float]:
    """Round values between two ends, at most about `most`."""
    span = (high - low) / most
    power = 10.0 ** math.floor(math.log10(span))
    step = next(power * factor for factor in (1, 2, 5, 10) if power * factor >= span)
    return [step * n for n in range(math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9) + 1)]


def say(value: float) -> str:
    """A tick's number without the noise of binary fractions."""
    return f"{round(value, 10):g}".replace("-", "\N{MINUS SIGN}")


def text(x: float, y: float, words: str, anchor: str = "middle", more: str = "") -> str:
    """Words at a place in pixels."""
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" {more}>{escape(words)}</text>'


def line(
    frame: Frame,
    x: Sequence[float],
    y: Sequence[float],
    tone: str = "#000",
    width: float = 1.4,
    dash: str = "",
) -> str:
    """A line through points in the chart's units."""
    points = " ".join(f"{frame.across(a):.1f},{frame.up(b):.1f}" for a, b in zip(x, y, strict=True))
    style = f'fill="none" stroke="{tone}" stroke-width="{width:g}" stroke-dasharray="{dash}"'
    return f'<polyline points="{points}" {style}/>'


def dots(frame: Frame, x: Sequence[float], y: Sequence[float], tone: str = "#000", size: float = 2.6) -> str:
    """Points in the chart's units."""
    return "".join(
        f'<circle cx="{frame.across(a):.1f}" cy="{frame.up(b):.1f}" r="{size:g}" fill="{tone}"/>'
        for a, b in zip(x, y, strict=True)
    )


def cell(frame: Frame, x: tuple[float, float], y: tuple[float, float], tone: str) -> str:
    """A filled rectangle in the chart's units."""
    left, right, top, low = frame.across(x[0]), frame.across(x[1]), frame.up(y[1]), frame.up(y[0])
    size = f'width="{right - left + 0.3:.1f}" height="{low - top + 0.3:.1f}"'
    return f'<rect x="{left:.1f}" y="{top:.1f}" {size} fill="{tone}"/>'


def around(values: Iterable[float], share: float = 0.08) -> tuple[float, float]:
    """Ends of an axis with some room beyond the values."""
    given = np.array(list(values), float)
    low, high = float(given.min()), float(given.max())
    room = share * (high - low) or abs(high) or 1.0
    return low - room, high + room
