"""Control charts of one size: single values above, moving ranges below; for paper and screen alike.

Nothing is told by a tone alone: limits are dashed, tolerances thick, points that alarm are framed.
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from itertools import pairwise

from sagger.goods.judged import Control, Size
from sagger.views.charts import plot

WIDE, HIGH, LOW, RIGHT = (
    860.0,
    350.0,
    210.0,
    142.0,
)  # size in pixels, both charts, room for names on the right
GREY, RUST, BLUE = "#555", "#a33c00", "#1565a8"
APART = 15.0  # pixels between two names
PLACES = {"mm": 3, "deg": 3, "g": 4, "g/cm3": 4, "degC": 2}  # after the point; of a hardness 1
RANGE = "moving range"  # the rule of the lower chart
Named = tuple[float, str]  # value [mm], what stands there


def name(size: Size) -> str:
    """What was measured, in words: "lever, bore, along x, 20 mm", "cup, green density"."""
    along = f"along {size.axis}" if size.axis else ""
    drawn = size.kind == "dimension"
    nominal = f"{size.nominal_mm:g} {size.scale if drawn else 'mm'}" if size.nominal_mm else ""
    kind = "" if size.finished or drawn else f"{size.state} {size.kind}"
    scale = "" if drawn else size.scale
    return ", ".join(filter(None, (size.part, kind, size.feature, along, nominal, scale)))


def signed(value: float, places: int = 3) -> str:
    """A deviation with its sign, "−0.012"."""
    return f"{value:+.{places}f}".replace("-", "\N{MINUS SIGN}")


def value_text(charts: Control, value: float) -> str:
    """A value of the charts; deviations with their sign."""
    places = PLACES.get(charts.unit, 1)
    return signed(value, places) if charts.off_nominal else f"{value:.{places}f}"


def unit(charts: Control) -> str:
    """Unit of the charts, as a person writes it."""
    return charts.unit.replace("cm3", "cm³").replace("degC", "°C")


def chart(
    charts: Control, title: str, half: float | None = None, limits: Sequence[float] | None = None
) -> str:
    """Values and moving ranges in the order of the ledger, with limits and alarms; SVG text.

    `half` is the ± of a tolerance about nominal, in the unit of the charts; `limits` are its ends where they
    do not lie alike about nominal, or where it has but one.
    """
    whole = plot.Frame((0, 1), (0, 1), WIDE, HIGH + LOW)
    lower = f'<g transform="translate(0 {HIGH:g})">{_ranges(charts)}</g>'
    key = "line without points: weighted mean; squares: readings that alarm"
    key = plot.text(WIDE - 8, HIGH + LOW - 8, key, "end")
    ends = limits or ((half, -half) if half is not None else ())
    return plot.svg(whole, [_values(charts, title, ends), lower, key])


def _values(charts: Control, title: str, tolerance: Sequence[float]) -> str:
    values = charts.values
    limits = [(charts.upper, "upper limit"), (charts.lower, "lower limit")]
    asked = [(end, "tolerance") for end in tolerance]
    named = [(charts.mean, "mean"), *limits, *asked]
    ends = plot.around((*(at for at, _ in named), *values), 0.1)
    frame = plot.Frame((0.0, len(values) + 1.0), ends, WIDE, HIGH, RIGHT)
    x = range(1, len(values) + 1)
    what = f"{'deviation' if charts.off_nominal else 'reading'}, {unit(charts)}"
    body = [
        plot.axes(frame, title, "reading, in the order of the ledger", what),
        _between_boxes(frame, charts),
        plot.group("asked", *(_across(frame, at, RUST, 2.4) for at, _ in asked)),
        plot.group("limit", *(_across(frame, at, GREY, 1.6, "8 4") for at, _ in limits)),
        plot.group("mean", _across(frame, charts.mean, GREY, 1.0)),
        plot.group("weighted", plot.line(frame, x, charts.weighted, BLUE, 2.2, "1 0")),
        _points(frame, charts.pieces, x, values),
        _framed(frame, [(n + 1.0, values[n]) for n in sorted(_places(charts, ranges=False))]),
        _names(frame, [(at, f"{word} {value_text(charts, at)}") for at, word in named]),
    ]
    return "".join(body)


def _ranges(charts: Control) -> str:
    ranges = [abs(b - a) for a, b in pairwise(charts.values)]
    high = 1.12 * max(charts.range_upper, *ranges)
    frame = plot.Frame((0.0, len(charts.values) + 1.0), (0.0, high), WIDE, LOW, RIGHT)
    x, places = range(2, len(charts.values) + 1), PLACES.get(charts.unit, 1)
    named = [(charts.range_mean, "mean"), (charts.range_upper, "upper limit")]
    body = [
        plot.axes(
            frame, "Moving range: difference from the reading before", "reading", f"range, {unit(charts)}"
        ),
        plot.group("limit", _across(frame, charts.range_upper, GREY, 1.6, "8 4")),
        plot.group("mean", _across(frame, charts.range_mean, GREY, 1.0)),
        plot.group("joined", plot.line(frame, x, ranges, GREY, 0.9)),
        _points(frame, charts.pieces[1:], x, ranges),
        _framed(frame, [(n + 1.0, ranges[n - 1]) for n in sorted(_places(charts, ranges=True))]),
        _names(frame, [(at, f"{word} {at:.{places}f}") for at, word in named]),
    ]
    return "".join(body)


def _places(charts: Control, *, ranges: bool) -> set[int]:
    return {alarm.place for alarm in charts.alarms if (alarm.rule == RANGE) is ranges}


def _across(frame: plot.Frame, at: float, tone: str, width: float, dash: str = "") -> str:
    return plot.line(frame, frame.x, (at, at), tone, width, dash)


def _points(frame: plot.Frame, pieces: Sequence[str], x: Sequence[int], y: Sequence[float]) -> str:
    """Points that say which piece they are when pointed at."""
    parts = [
        f"<g><title>{escape(f'{at}: {piece}, {value:.4f}')}</title>{plot.dots(frame, [at], [value])}</g>"
        for piece, at, value in zip(pieces, x, y, strict=True)
    ]
    return plot.group("point", *parts)


def _framed(frame: plot.Frame, places: Sequence[tuple[float, float]]) -> str:
    """A square about each point that alarms."""
    form = '<rect x="{:.1f}" y="{:.1f}" width="13" height="13" fill="none" stroke="{}" stroke-width="2.2"/>'
    marks = (form.format(frame.across(x) - 6.5, frame.up(y) - 6.5, RUST) for x, y in places)
    return plot.group("mark", *marks)


def _between_boxes(frame: plot.Frame, charts: Control) -> str:
    """A thin line wherever the next reading is from another box, and the box's name where there is room."""
    starts = [n for n, box in enumerate(charts.boxes) if n == 0 or box != charts.boxes[n - 1]]
    parts = []
    for start, end in zip(starts, [*starts[1:], len(charts.boxes)], strict=True):
        left, right = frame.across(start + 0.5), frame.across(end + 0.5)
        if start:
            x = (start + 0.5, start + 0.5)
            parts.append(plot.group("grid", plot.line(frame, x, frame.y, "#999", 1.0, "2 4")))
        if len(starts) > 1 and right - left > 8 * len(charts.boxes[start]) + 6:
            low = frame.up(frame.y[0]) - 6
            parts.append(plot.text((left + right) / 2, low, charts.boxes[start], more='font-size="12"'))
    return "".join(parts)


def _names(frame: plot.Frame, named: Sequence[Named]) -> str:
    """Names of lines right of the chart, moved apart where they would stand on one another."""
    wanted = sorted((frame.up(at) + 4, words) for at, words in named)
    places: list[float] = []
    for y, _ in wanted:
        places.append(max(y, places[-1] + APART) if places else y)
    over = max(0.0, places[-1] - (frame.up(frame.y[0]) + 6))
    for n in range(len(places) - 1, -1, -1):  # what was pushed out at the bottom pushes back
        most = frame.up(frame.y[0]) + 6 - APART * (len(places) - 1 - n)
        places[n] = min(places[n], most) if over else places[n]
    x = frame.width - frame.right + 7
    return "".join(plot.text(x, y, words, "start") for y, (_, words) in zip(places, wanted, strict=True))
