"""Readings against tolerances: lines, a document, and charts."""

from __future__ import annotations

import dataclasses
from collections import Counter
from typing import Any

from sagger.goods.judged import Characteristic, Judged
from sagger.physics.gauge import Study
from sagger.views import plot

SAID = ("conforms", "undecided", "does not conform")
GREY, RED = "#777", "#b00020"


def document(judged: Judged) -> dict[str, Any]:
    """Everything, lengths in mm."""
    return {"schema": "sagger-judged/1", **dataclasses.asdict(judged)}


def lines(judged: Judged) -> list[str]:
    """Verdicts counted, then a line for each size."""
    counts = Counter(each.said for each in judged.compared)
    said = [f"{len(judged.compared)} lengths: " + ", ".join(f"{counts[word]} {word}" for word in SAID)]
    for each in judged.characteristics:
        said += [_size(each), *(f"    {alarm}" for alarm in _alarms(each))]
    said += [f"left out: {words}" for words in judged.left_out[:10]]
    return said


def _size(each: Characteristic) -> str:
    index = (
        f"capability {each.index:.2f} ({each.index_low:.2f} to {each.index_high:.2f})"
        if each.index is not None
        else f"capability at least {each.index_least:.2f} with 95 % confidence "
        f"({len(each.pieces)} pieces are too few for a bare figure)"
    )
    return (
        f"{each.part} {each.axis} {each.nominal_mm:g} ± {each.half_mm:g} mm: mean {each.mean_mm:+.4f}, "
        f"s {each.sd_mm:.4f} mm, {index}; 95 % of pieces lie within "
        f"{each.holds_mm[0]:+.3f} to {each.holds_mm[1]:+.3f} mm with 95 % confidence"
    )


def _alarms(each: Characteristic) -> list[str]:
    return [
        f"{each.pieces[alarm.place]}: {alarm.rule} (such a chart alarms for nothing every "
        f"{each.points_per_false_alarm:.0f} points)"
        for alarm in each.alarms
    ]


def gauge(by_variance: Study, by_ranges: Study, shape: tuple[int, ...]) -> tuple[dict[str, Any], list[str]]:
    """A gauge study by both methods, as a document and as lines; standard deviations in mm."""
    people, sizes, trials = shape
    said = [f"{people} persons, {sizes} sizes, {trials} trials"]
    for name, of in (("analysis of variance", by_variance), ("averages and ranges", by_ranges)):
        said.append(
            f"{name}: repeatability {of.repeat:.4f}, persons {of.operator:.4f}, gauge {of.gauge:.4f}, "
            f"parts {of.part:.4f} mm; gauge is {of.share:.1%} of the whole, {of.classes} classes told apart"
        )
    if by_variance.clipped:
        said.append(f"set to 0 because it came out below: {', '.join(by_variance.clipped)}")
    verdict = (
        "good" if by_variance.share < 0.1 else "usable" if by_variance.share < 0.3 else "not good enough"
    )
    said.append(f"the gauge is {verdict} for these sizes (below 10 %, 30 %: common practice, no source)")
    return {
        "schema": "sagger-gauge/1",
        "persons": people,
        "sizes": sizes,
        "trials": trials,
        "variance": by_variance._asdict(),
        "ranges": {k: v for k, v in by_ranges._asdict().items() if k != "interaction_p"},
    }, said


def chart(each: Characteristic) -> str:
    """Deviations in the order in which they were read, with limits, weighted means and alarms; SVG."""
    x = list(range(1, len(each.deviations_mm) + 1))
    ends = (-each.half_mm, each.half_mm, each.lower_mm, each.upper_mm, *each.deviations_mm)
    frame = plot.Frame((0.0, len(x) + 1.0), plot.around(ends))
    wide = (0.0, len(x) + 1.0)
    body = [
        plot.axes(
            frame, f"{each.part}, {each.axis} {each.nominal_mm:g} mm", "reading, in order", "deviation, mm"
        )
    ]
    for side in (-each.half_mm, each.half_mm):
        body.append(plot.line(frame, wide, (side, side), RED, 1.4))
    for limit in (each.lower_mm, each.upper_mm):
        body.append(plot.line(frame, wide, (limit, limit), GREY, 1.2, "7 4"))
    body.append(plot.line(frame, wide, (each.mean_mm, each.mean_mm), GREY, 0.9))
    body.append(plot.line(frame, x, each.weighted_mm, "#1565a8", 1.8))
    body.append(plot.dots(frame, x, each.deviations_mm))
    marked = sorted({alarm.place for alarm in each.alarms})
    body.append(plot.dots(frame, [x[n] for n in marked], [each.deviations_mm[n] for n in marked], RED, 4.2))
    words = "red lines: tolerance; dashes: ± 3 s; blue: weighted mean; red: alarm"
    body.append(plot.text(frame.width - 24, frame.height - 8, words, "end", 'font-size="11" fill="#555"'))
    return plot.svg(frame, body)
