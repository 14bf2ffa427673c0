"""Charts as SVG, for paper and where a page shows the same picture: axes, lines, points, bands and words."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from html import escape
from typing import NamedTuple

import numpy as np

_FONT = 'font-family="Libertinus Serif, Georgia, serif" font-size="13"'
DRAWN_MOST = 400  # points of a line: one for each pixel or two is enough


class Frame(NamedTuple):
    """What a chart shows: ranges of both axes, and in pixels its size and what is left free around."""

    x: tuple[float, float]
    y: tuple[float, float]
    width: float = 620
    height: float = 300
    right: float = 18
    left: float = 62
    top: float = 34
    bottom: float = 44

    def across(self, value: float) -> float:
        """Pixels from the left of a value along the axis."""
        low, high = self.x
        return self.left + (self.width - self.left - self.right) * (value - low) / (high - low)

    def up(self, value: float) -> float:
        """Pixels from the top of a value on the axis up."""
        low, high = self.y
        high_px = self.height - self.top - self.bottom
        return self.height - self.bottom - high_px * (value - low) / (high - low)


def svg(frame: Frame, body: Iterable[str]) -> str:
    """A whole picture on white."""
    size = f'viewBox="0 0 {frame.width:g} {frame.height:g}" {_FONT}'
    white = f'<rect class="ground" width="{frame.width:g}" height="{frame.height:g}" fill="white"/>'
    return "".join([f'<svg xmlns="http://www.w3.org/2000/svg" {size}>', white, *body, "</svg>\n"])


def axes(frame: Frame, title: str, along: str, up: str, names: Sequence[str] = ()) -> str:
    """Frame, ticks and words; `names` stand below in place of numbers, evenly from 0."""
    parts = [_level(frame, value) for value in ticks(*frame.y, 6)]
    low = frame.height - frame.bottom + 18
    if names:
        parts += [text(frame.across(n), low, name) for n, name in enumerate(names)]
    else:
        parts += [text(frame.across(value), low, number(value)) for value in ticks(*frame.x, 10)]
    width = frame.width - frame.left - frame.right
    size = f'width="{width:g}" height="{frame.height - frame.top - frame.bottom:g}"'
    place = f'x="{frame.left:g}" y="{frame.top:g}"'
    parts.append(f'<rect class="frame" {place} {size} fill="none" stroke="#000"/>')
    parts.append(text(frame.width / 2, 20, title, more='font-weight="bold"'))
    parts.append(text(frame.left + width / 2, frame.height - 8, along))
    parts.append(_upright(frame, 14, up))
    return "".join(parts)


def right_axis(frame: Frame, words: str) -> str:
    """Numbers and words of a second axis on the right, of a frame that lies over another."""
    x = frame.width - frame.right + 7
    numbers = (text(x, frame.up(value) + 4, number(value), "start") for value in ticks(*frame.y, 6))
    return "".join(numbers) + _upright(frame, frame.width - 8, words)


def _level(frame: Frame, value: float) -> str:
    """A tick of the axis up, with its line across."""
    across = group("grid", line(frame, frame.x, (value, value), "#ddd", 0.6))
    return across + text(frame.left - 6, frame.up(value) + 4, number(value), "end")


def _upright(frame: Frame, x: float, words: str) -> str:
    middle = (frame.top + frame.height - frame.bottom) / 2
    return text(x, middle, words, more=f'transform="rotate(-90 {x:g} {middle:g})"')


def group(kind: str, *body: str) -> str:
    """Marks of one kind; a page may give them tones of its own by this name."""
    return f'<g class="{kind}">{"".join(body)}</g>'


def ticks(low: float, high: float, most: int) -> list[float]:
    """Round values between two ends, at most about `most`."""
    span = (high - low) / most
    power = 10.0 ** math.floor(math.log10(span))
    step = next(power * factor for factor in (1, 2, 5, 10) if power * factor >= span)
    return [step * n for n in range(math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9) + 1)]


def number(value: float) -> str:
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
    """A line through points in the chart's units; of very many, some evenly over the whole."""
    last = len(x) - 1
    picked: Sequence[int] = range(last + 1)
    if last >= DRAWN_MOST:
        picked = [round(place * last / (DRAWN_MOST - 1)) for place in range(DRAWN_MOST)]
    points = " ".join(f"{frame.across(x[at]):.1f},{frame.up(y[at]):.1f}" for at in picked)
    style = f'fill="none" stroke="{tone}" stroke-width="{width:g}" stroke-dasharray="{dash}"'
    return f'<polyline points="{points}" {style} stroke-linejoin="round"/>'


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
