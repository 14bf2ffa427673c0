"""Measured against foretold: one row a run, its 95 % interval as a bar, what was measured as a dot."""

from __future__ import annotations

from sagger.goods.scored import ForetoldRun, Score
from sagger.views.charts import plot

WIDE, ROW, LEFT, FREE = 760.0, 22.0, 250.0, 90.0  # pixels
GREY, RUST, BLUE = "#888", "#a33c00", "#1565a8"
FAR = 60.0  # per cent of the forecast: farther is drawn at the edge


def picture(score: Score) -> str:
    """Runs with an interval, in per cent of what was foretold; SVG text."""
    runs = [run for run in score.runs if run.low is not None]
    frame = plot.Frame(
        (-FAR, FAR), (0.0, len(runs) + 1.0), WIDE, FREE + ROW * (len(runs) + 1), left=LEFT, right=18
    )
    title = "measured less foretold, per cent of what was foretold"
    body = [plot.axes(frame, title, "bar: 95 % interval of a measurement; dot: measured (ring: outside)", "")]
    body.append(plot.line(frame, (0.0, 0.0), frame.y, GREY, 1.0))
    for row, run in enumerate(runs):
        body.append(_row(frame, run, len(runs) - row))
    return plot.svg(frame, body)


def _row(frame: plot.Frame, run: ForetoldRun, up: float) -> str:
    low, high, at = (_off(run, value) for value in (run.low, run.high, run.run.measured))
    name = plot.text(LEFT - 8, frame.up(up) + 4, f"{run.run.key}, {run.run.quantity}", "end")
    bar = plot.line(frame, (low, high), (up, up), GREY, 7.0)
    tone = BLUE if run.inside else RUST
    dot = plot.dots(frame, (at,), (up,), tone, 4.5)
    ring = "" if run.inside else plot.dots(frame, (at,), (up,), "white", 2.2)
    return name + bar + dot + ring


def _off(run: ForetoldRun, value: float | None) -> float:
    assert value is not None and run.foretold
    return max(-FAR, min(FAR, 100 * (value / run.foretold - 1)))
