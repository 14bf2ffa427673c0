"""Readings against tolerances: lines, a document, and charts."""

from __future__ import annotations

import dataclasses
from collections import Counter
from typing import Any

from sagger.goods.judged import Characteristic, Control, Judged
from sagger.physics import charts
from sagger.physics.gauge import Study
from sagger.stations.measure.judge import WEIGHT, WIDE
from sagger.views import control

SAID = ("conforms", "undecided", "does not conform")
RULES = {
    "beyond": "beyond three standard deviations of the chart",
    "run": "nine readings or more in a row on one side of the mean",
    control.RANGE: "further from the reading before than the upper limit of the range",
    "weighted mean": "weighted mean outside its limits, the mean has moved; from",
    "cumulative sum": "cumulative sum outside its limit, the mean has moved; from",
}
SHORT = {
    "beyond": "beyond a limit",
    "run": "nine on one side",
    control.RANGE: "range",
    "weighted mean": "weighted mean",
    "cumulative sum": "cumulative sum",
}
Row = tuple[str, str, str, str]  # what, its value, how it comes about, source


def document(judged: Judged) -> dict[str, Any]:
    """Everything, lengths in mm."""
    return {"schema": "sagger-judged/1", **dataclasses.asdict(judged)}


def lines(judged: Judged) -> list[str]:
    """Verdicts counted, then a line for each size."""
    counts = Counter(each.said for each in judged.compared)
    said = [f"{len(judged.compared)} lengths: " + ", ".join(f"{counts[word]} {word}" for word in SAID)]
    for each in judged.characteristics:
        said += [_size(each), *(f"    {words}" for words in alarms(each.charts))]
    said += [f"left out: {words}" for words in judged.left_out[:10]]
    return said


def _size(each: Characteristic) -> str:
    seen = each.charts
    return (
        f"{control.name(each.size)} ± {each.half_mm:g} mm: mean {seen.mean:+.4f}, "
        f"s {seen.sd:.4f} mm, {capability(each)}; 95 % of pieces lie within "
        f"{each.holds_mm[0]:+.3f} to {each.holds_mm[1]:+.3f} mm with 95 % confidence"
    )


def capability(each: Characteristic) -> str:
    """How well the size keeps to its tolerance, with how sure that is."""
    if each.index is not None:
        return f"capability {each.index:.2f} ({each.index_low:.2f} to {each.index_high:.2f})"
    return (
        f"capability at least {each.index_least:.2f} with 95 % confidence "
        f"({len(each.charts.pieces)} pieces are too few for a bare figure)"
    )


def alarms(each: Control) -> list[str]:
    """Which rules are broken, by which readings, and how often chance alone breaks them."""
    said = []
    for rule, words in RULES.items():
        broken = [alarm for alarm in each.alarms if alarm.rule == rule]
        if broken:
            which = "; ".join(_stretches(each, [alarm.place for alarm in broken]))
            every = f"such a chart alarms for nothing every {broken[0].every:.0f} points"
            said.append(f"{words}: {which} ({every})")
    return said


def _stretches(each: Control, places: list[int]) -> list[str]:
    """Readings in words, neighbours as from one to the other."""
    stretches: list[list[int]] = []
    for place in places:
        if stretches and stretches[-1][-1] == place - 1:
            stretches[-1].append(place)
        else:
            stretches.append([place])
    return [
        f"reading {one[0] + 1}, {each.pieces[one[0]]}"
        if len(one) == 1
        else f"readings {one[0] + 1} to {one[-1] + 1}, {each.pieces[one[0]]} to {each.pieces[one[-1]]}"
        for one in stretches
    ]


def limits(each: Control) -> list[Row]:
    """What the charts' lines are, in their unit, how each comes about, and by which source."""
    handbook, places = "NIST/SEMATECH e-Handbook 6.3.2.2", control.PLACES.get(each.unit, 1)
    ends = (each.mean - each.weighted_half, each.mean + each.weighted_half)
    both, wide = (
        " to ".join(control.said(each, at) for at in pair) for pair in ((each.lower, each.upper), ends)
    )
    what = "deviations from nominal" if each.off_nominal else "readings"
    root = f"√({WEIGHT:g} / {2 - WEIGHT:g})"
    return [
        ("mean", control.said(each, each.mean), f"of {len(each.pieces)} {what}", "definition"),
        ("limits of single values", both, "mean ± 3 mean moving range / 1.128", handbook),
        (
            "mean moving range",
            f"{each.range_mean:.{places}f}",
            "of the differences between neighbours",
            handbook,
        ),
        (
            "upper limit of the range",
            f"{each.range_upper:.{places}f}",
            f"{charts.constants(2).D4:.3f} mean moving range",
            "ISO 7870-2, D4",
        ),
        (
            "limits of the weighted mean",
            wide,
            f"weight {WEIGHT:g}, ± {WIDE:g} s {root}",
            "NIST/SEMATECH e-Handbook 6.3.2.4",
        ),
    ]


def able(each: Characteristic) -> list[Row]:
    """How well the size keeps to its tolerance, with bounds, and by which source."""
    few = f"not told below 25 pieces; there are {len(each.charts.pieces)}"
    bare = few if each.index is None else f"{each.index:.2f}"
    holds = f"{control.signed(each.holds_mm[0])} to {control.signed(each.holds_mm[1])} mm"
    return [
        ("capability", bare, "nearer limit less mean, over 3 s", "ISO 22514-2"),
        (
            "95 % interval",
            f"{each.index_low:.2f} to {each.index_high:.2f}",
            "normal approximation",
            "Bissell 1990",
        ),
        ("at least, 95 % sure", f"{each.index_least:.2f}", "lower bound", "noncentral t, exact"),
        ("95 % of pieces lie within", holds, "with 95 % confidence", "ISO 16269-6, exact"),
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
