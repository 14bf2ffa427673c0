"""Control charts of one size: single values above, moving ranges below; for paper and screen alike.

Nothing is told by a tone alone: limits are dashed, tolerances thick, points that alarm are framed.
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from itertools import pairwise

from sagger.goods.judged import Characteristic, Size
from sagger.views import plot

WIDE, HIGH, LOW, RIGHT = (
    860.0,
    350.0,
    210.0,
    142.0,
)  # size in pixels, both charts, room for names on the right
GREY, RUST, BLUE = "#555", "#a33c00", "#1565a8"
APART = 15.0  # pixels between two names
RANGE = "moving range"  # the rule of the lower chart
Named = tuple[float, str]  # value [mm], what stands there


def name(size: Size | Characteristic) -> str:
    """What was measured, in words: "lever, bore, along x, 20 mm"."""
    along = f"along {size.axis}" if size.axis else ""
    return ", ".join(filter(None, (size.part, size.feature, along, f"{size.nominal_mm:g} mm")))


def signed(value_mm: float, places: int = 3) -> str:
    """A deviation with its sign, "−0.012"."""
    return f"{value_mm:+.{places}f}".replace("-", "\N{MINUS SIGN}")


def chart(each: Characteristic) -> str:
    """Deviations and moving ranges in the order of the ledger, with limits and alarms; SVG text."""
    whole = plot.Frame((0, 1), (0, 1), WIDE, HIGH + LOW)
    lower = f'<g transform="translate(0 {HIGH:g})">{_ranges(each)}</g>'
    key = "line without points: weighted mean; squares: readings that alarm"
    return plot.svg(whole, [_values(each), lower, plot.text(WIDE - 8, HIGH + LOW - 8, key, "end")])


def _values(each: Characteristic) -> str:
    half, values = each.half_mm, each.deviations_mm
    ends = plot.around((-half, half, each.lower_mm, each.upper_mm, *values), 0.1)
    frame = plot.Frame((0.0, len(values) + 1.0), ends, WIDE, HIGH, RIGHT)
    limits = [(each.upper_mm, "upper limit"), (each.lower_mm, "lower limit")]
    asked = [(half, "tolerance"), (-half, "tolerance")]
    told = [(each.mean_mm, "mean"), *limits, *asked]
    x = range(1, len(values) + 1)
    body = [
        plot.axes(frame, name(each), "reading, in the order of the ledger", "deviation, mm"),
        _between_boxes(frame, each),
        plot.group("asked", *(_across(frame, at, RUST, 2.4) for at, _ in asked)),
        plot.group("limit", *(_across(frame, at, GREY, 1.6, "8 4") for at, _ in limits)),
        plot.group("mean", _across(frame, each.mean_mm, GREY, 1.0)),
        plot.group("weighted", plot.line(frame, x, each.weighted_mm, BLUE, 2.2, "1 0")),
        _points(frame, each.pieces, x, values),
        _framed(frame, [(n + 1.0, values[n]) for n in sorted(_places(each, ranges=False))]),
        _names(frame, [(at, f"{word} {signed(at)}") for at, word in told]),
    ]
    return "".join(body)


def _ranges(each: Characteristic) -> str:
    values = each.deviations_mm
    ranges = [abs(b - a) for a, b in pairwise(values)]
    high = 1.12 * max(each.range_upper_mm, *ranges)
    frame = plot.Frame((0.0, len(values) + 1.0), (0.0, high or 1.0), WIDE, LOW, RIGHT)
    x = range(2, len(values) + 1)
    told = [(each.range_mm, "mean"), (each.range_upper_mm, "upper limit")]
    body = [
        plot.axes(frame, "Moving range: difference from the reading before", "reading", "range, mm"),
        plot.group("limit", _across(frame, each.range_upper_mm, GREY, 1.6, "8 4")),
        plot.group("mean", _across(frame, each.range_mm, GREY, 1.0)),
        plot.group("joined", plot.line(frame, x, ranges, GREY, 0.9)),
        _points(frame, each.pieces[1:], x, ranges),
        _framed(frame, [(n + 1.0, ranges[n - 1]) for n in sorted(_places(each, ranges=True))]),
        _names(frame, [(at, f"{word} {at:.3f}") for at, word in told]),
    ]
    return "".join(body)


def _places(each: Characteristic, *, ranges: bool) -> set[int]:
    return {alarm.place for alarm in each.alarms if (alarm.rule == RANGE) is ranges}


def _across(frame: plot.Frame, at: float, tone: str, width: float, dash: str = "") -> str:
    return plot.line(frame, frame.x, (at, at), tone, width, dash)


def _points(frame: plot.Frame, pieces: Sequence[str], x: Sequence[int], y: Sequence[float]) -> str:
    """Points that say which piece they are when pointed at."""
    parts = [
        f"<g><title>{escape(f'{at}: {piece}, {value:+.4f} mm')}</title>{plot.dots(frame, [at], [value])}</g>"
        for piece, at, value in zip(pieces, x, y, strict=True)
    ]
    return plot.group("point", *parts)


def _framed(frame: plot.Frame, places: Sequence[tuple[float, float]]) -> str:
    """A square about each point that alarms."""
    form = '<rect x="{:.1f}" y="{:.1f}" width="13" height="13" fill="none" stroke="{}" stroke-width="2.2"/>'
    marks = (form.format(frame.across(x) - 6.5, frame.up(y) - 6.5, RUST) for x, y in places)
    return plot.group("mark", *marks)


def _between_boxes(frame: plot.Frame, each: Characteristic) -> str:
    """A thin line wherever the next reading is from another box, and the box's name where there is room."""
    starts = [n for n, box in enumerate(each.boxes) if n == 0 or box != each.boxes[n - 1]]
    parts = []
    for start, end in zip(starts, [*starts[1:], len(each.boxes)], strict=True):
        left, right = frame.across(start + 0.5), frame.across(end + 0.5)
        if start:
            x = (start + 0.5, start + 0.5)
            parts.append(plot.group("grid", plot.line(frame, x, frame.y, "#999", 1.0, "2 4")))
        if len(starts) > 1 and right - left > 8 * len(each.boxes[start]) + 6:
            low = frame.up(frame.y[0]) - 6
            parts.append(plot.text((left + right) / 2, low, each.boxes[start], more='font-size="12"'))
    return "".join(parts)


def _names(frame: plot.Frame, told: Sequence[Named]) -> str:
    """Names of lines right of the chart, moved apart where they would stand on one another."""
    wanted = sorted((frame.up(at) + 4, words) for at, words in told)
    places: list[float] = []
    for y, _ in wanted:
        places.append(max(y, places[-1] + APART) if places else y)
    over = max(0.0, places[-1] - (frame.up(frame.y[0]) + 6))
    for n in range(len(places) - 1, -1, -1):  # what was pushed out at the bottom pushes back
        most = frame.up(frame.y[0]) + 6 - APART * (len(places) - 1 - n)
        places[n] = min(places[n], most) if over else places[n]
    x = frame.width - frame.right + 7
    return "".join(plot.text(x, y, words, "start") for y, (_, words) in zip(places, wanted, strict=True))
