"""The pictures and the table of docs/campaign.md, from a campaign that was run."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from sagger.views.charts import plot

MARK = "<!-- made by examples/campaign.py -->"
RED, BLUE, GREY = "#b00020", "#1565a8", "#777"
LIMIT = 0.2  # of the order [mm]


def draw(story: Any, docs: Path) -> None:
    """Leave three pictures in docs/pictures, and the table between the marks of docs/campaign.md."""
    from sagger.desk.measuring import learning

    folder = docs / "pictures"
    learning.bed("steel-316l", "box-400x250x250", folder / "campaign-bed.svg")
    (folder / "campaign-lengths.svg").write_text(lengths(story.boxes), "utf-8")
    (folder / "campaign-promise.svg").write_text(promise(story.boxes), "utf-8")
    page = docs / "campaign.md"
    head, _, rest = page.read_text("utf-8").partition(MARK)
    _, _, tail = rest.partition(MARK)
    page.write_text(f"{head}{MARK}\n{table(story.boxes)}{MARK}{tail}", "utf-8")


def lengths(boxes: list[dict[str, Any]]) -> str:
    """How far the length of each lever is off, box by box, with its place along the bed as height of tone."""
    off = [box["levers"][:, 0] for box in boxes]
    frame = plot.Frame((-0.6, len(boxes) - 0.4), plot.around([*np.concatenate(off), -LIMIT, LIMIT]))
    names = [f"box {number}" for number in range(1, len(boxes) + 1)]
    body = [plot.axes(frame, "lever, 70 mm along x", "", "deviation, mm", names)]
    for side in (-LIMIT, LIMIT):
        body.append(plot.line(frame, frame.x, (side, side), RED))
    for number, (values, box) in enumerate(zip(off, boxes, strict=True)):
        share = box["at_mm"][:, 0] / 400 - 0.5  # along the bed, from the low wall to the high
        body.append(plot.dots(frame, (number + 0.6 * share).tolist(), values.tolist()))
        mean = float(values.mean())
        body.append(plot.line(frame, (number - 0.35, number + 0.35), (mean, mean), BLUE, 2.2))
    words = "red: tolerance; blue: mean; within a box from left to right as the levers lay along the bed"
    body.append(plot.text(frame.width - 20, frame.height - 8, words, "end", 'font-size="11" fill="#555"'))
    return plot.svg(frame, body)


def promise(boxes: list[dict[str, Any]]) -> str:
    """The chance that was promised beside the share found inside."""
    frame = plot.Frame((-0.6, len(boxes) - 0.4), (0.0, 112.0), 620, 240)
    names = [f"box {number}" for number in range(1, len(boxes) + 1)]
    body = [plot.axes(frame, "levers whose length is inside ± 0.2 mm", "", "%", names)]
    for number, box in enumerate(boxes):
        found = 100 * float(np.mean(np.abs(box["levers"][:, 0]) <= LIMIT))
        for side, value, tone in ((-0.3, box["promised"], "#9bbfdd"), (0.02, found, BLUE)):
            body.append(plot.cell(frame, (number + side, number + side + 0.28), (0.0, value), tone))
            middle = frame.across(number + side + 0.14)
            body.append(plot.text(middle, frame.up(value) - 4, f"{value:.0f}", more='font-size="11"'))
    words = "light: promised before printing; dark: found"
    body.append(plot.text(frame.width - 20, frame.height - 8, words, "end", 'font-size="11" fill="#555"'))
    return plot.svg(frame, body)


def table(boxes: list[dict[str, Any]]) -> str:
    """A row for each box."""
    rows = [
        "",
        "| box | lot | length off, mean | s | root mean square, all sizes | promised | found inside |",
    ]
    rows.append("|---|---|---|---|---|---|---|")
    for number, box in enumerate(boxes, start=1):
        off = box["levers"][:, 0]
        rms = float(np.sqrt(np.mean(box["levers"] ** 2)))
        inside = 100 * float(np.mean(np.abs(off) <= LIMIT))
        rows.append(
            f"| {number} | {box['lot']} | {off.mean():+.3f} mm | {off.std(ddof=1):.3f} mm | {rms:.3f} mm "
            f"| {box['promised']:.1f} % | {inside:.0f} % |"
        )
    return "\n".join([*rows, "", ""])
