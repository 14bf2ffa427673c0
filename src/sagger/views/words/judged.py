"""Readings against tolerances: lines, a document, and charts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping

from sagger.goods.good import document as good_document
from sagger.goods.good import good
from sagger.goods.judged import Characteristic, Control, Judged
from sagger.goods.plain import Table
from sagger.stations.measure.judge import WEIGHT, WIDE
from sagger.statistics import charts
from sagger.statistics.gauge import Study
from sagger.views.charts import control

JUDGEMENTS = ("conforms", "undecided", "does not conform")
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


@good
class GaugeDocument:
    """A gauge study by both methods, standard deviations in mm."""

    persons: int
    sizes: int
    trials: int
    variance: Study
    ranges: Mapping[str, object]


def document(judged: Judged) -> Table:
    """Everything, lengths in mm."""
    return good_document("sagger-judged/2", judged)


def lines(judged: Judged) -> list[str]:
    """Verdicts counted, then a line for each size."""
    counts = Counter(length.said for length in judged.compared)
    text = [f"{len(judged.compared)} lengths: " + ", ".join(f"{counts[word]} {word}" for word in JUDGEMENTS)]
    for size in judged.characteristics:
        text += [_size(size), *(f"    {words}" for words in alarms(size.charts))]
    text += [f"left out: {words}" for words in judged.left_out[:10]]
    return text


def _size(size: Characteristic) -> str:
    seen = size.charts
    return (
        f"{control.name(size.size)} ± {size.half_mm:g} mm: mean {seen.mean:+.4f}, "
        f"s {seen.sd:.4f} mm, {capability(size)}; 95 % of pieces lie within "
        f"{size.holds_mm[0]:+.3f} to {size.holds_mm[1]:+.3f} mm with 95 % confidence{_grade(size)}"
    )


def _grade(size: Characteristic) -> str:
    return f", {size.grade} wide" if size.grade else ""


def capability(size: Characteristic) -> str:
    """How well the size keeps to its tolerance, with how sure that is."""
    if size.index is not None:
        return f"capability {size.index:.2f} ({size.index_low:.2f} to {size.index_high:.2f})"
    return (
        f"capability at least {size.index_least:.2f} with 95 % confidence "
        f"({len(size.charts.pieces)} pieces are too few for a bare figure)"
    )


def alarms(charted: Control) -> list[str]:
    """Which rules are broken, by which readings, and how often chance alone breaks them."""
    text = []
    for rule, words in RULES.items():
        broken = [alarm for alarm in charted.alarms if alarm.rule == rule]
        if broken:
            which = "; ".join(_stretches(charted, [alarm.place for alarm in broken]))
            every = f"such a chart alarms for nothing every {broken[0].every:.0f} points"
            text.append(f"{words}: {which} ({every})")
    return text


def _stretches(charted: Control, places: list[int]) -> list[str]:
    """Readings in words, neighbours as from one to the other."""
    stretches: list[list[int]] = []
    for place in places:
        if stretches and stretches[-1][-1] == place - 1:
            stretches[-1].append(place)
        else:
            stretches.append([place])
    return [
        f"reading {one[0] + 1}, {charted.pieces[one[0]]}"
        if len(one) == 1
        else f"readings {one[0] + 1} to {one[-1] + 1}, {charted.pieces[one[0]]} to {charted.pieces[one[-1]]}"
        for one in stretches
    ]


def limits(charted: Control) -> list[Row]:
    """What the charts' lines are, in their unit, how each comes about, and by which source."""
    handbook, places = "NIST/SEMATECH e-Handbook 6.3.2.2", control.PLACES.get(charted.unit, 1)
    ends = (charted.mean - charted.weighted_half, charted.mean + charted.weighted_half)
    both, wide = (
        " to ".join(control.value_text(charted, at) for at in pair)
        for pair in ((charted.lower, charted.upper), ends)
    )
    kind = "deviations from nominal" if charted.off_nominal else "readings"
    root = f"√({WEIGHT:g} / {2 - WEIGHT:g})"
    return [
        ("mean", control.value_text(charted, charted.mean), f"of {len(charted.pieces)} {kind}", "definition"),
        ("limits of single values", both, "mean ± 3 mean moving range / 1.128", handbook),
        (
            "mean moving range",
            f"{charted.range_mean:.{places}f}",
            "of the differences between neighbours",
            handbook,
        ),
        (
            "upper limit of the range",
            f"{charted.range_upper:.{places}f}",
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


def able(size: Characteristic) -> list[Row]:
    """How well the size keeps to its tolerance, with bounds, and by which source."""
    few = f"not told below 25 pieces; there are {len(size.charts.pieces)}"
    bare, wide, about = (
        few if index is None else f"{index:.2f}" for index in (size.index, size.width, size.about_nominal)
    )
    holds = f"{control.signed(size.holds_mm[0])} to {control.signed(size.holds_mm[1])} mm"
    grade = f"with 95 % confidence{_grade(size)}"
    return [
        ("capability", bare, "nearer limit less mean, over 3 s", "ISO 22514-2"),
        (
            "95 % interval",
            f"{size.index_low:.2f} to {size.index_high:.2f}",
            "normal approximation",
            "Bissell 1990",
        ),
        ("at least, 95 % sure", f"{size.index_least:.2f}", "lower bound", "noncentral t, exact"),
        ("capability, mean on nominal", wide, "tolerance over 6 s", "ISO 22514-2"),
        ("95 % interval", f"{size.width_low:.2f} to {size.width_high:.2f}", "chi-square", "exact"),
        ("outside, mean on nominal", f"{size.outside:.2g}", "share of pieces", "normal distribution"),
        ("capability about nominal", about, "tolerance over 6 root mean squares", "ISO 22514-2"),
        ("95 % of pieces lie within", holds, grade, "ISO 16269-6, exact; ISO 286-1"),
    ]


def gauge(by_variance: Study, by_ranges: Study, shape: tuple[int, ...]) -> tuple[Table, list[str]]:
    """A gauge study by both methods, as a document and as lines; standard deviations in mm."""
    people, sizes, trials = shape
    text = [f"{people} persons, {sizes} sizes, {trials} trials"]
    for name, of in (("analysis of variance", by_variance), ("averages and ranges", by_ranges)):
        text.append(
            f"{name}: repeatability {of.repeat:.4f}, persons {of.operator:.4f}, gauge {of.gauge:.4f}, "
            f"parts {of.part:.4f} mm; gauge is {of.share:.1%} of the whole, {of.classes} classes told apart"
        )
    if by_variance.clipped:
        text.append(f"set to 0 because it came out below: {', '.join(by_variance.clipped)}")
    verdict = (
        "good" if by_variance.share < 0.1 else "usable" if by_variance.share < 0.3 else "not good enough"
    )
    text.append(f"the gauge is {verdict} for these sizes (below 10 %, 30 %: common practice, no source)")
    ranges = {name: value for name, value in by_ranges._asdict().items() if name != "interaction_p"}
    study = GaugeDocument(persons=people, sizes=sizes, trials=trials, variance=by_variance, ranges=ranges)
    return good_document("sagger-gauge/1", study), text
