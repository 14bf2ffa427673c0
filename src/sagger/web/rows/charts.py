"""Control charts of what was measured: what can be chosen, what they say, and the readings behind."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from urllib.parse import urlencode

from markupsafe import Markup

from sagger.errors import InputError
from sagger.goods.judged import Characteristic, Compared, Control, Judged, Size
from sagger.goods.reading import Reading
from sagger.views.charts import control
from sagger.views.wording import count, signed
from sagger.views.words import judged as view
from sagger.views.words.readings import doubt
from sagger.views.words.readings import size as with_doubt
from sagger.web import markup

TONES = {"conforms": "ready", "undecided": "look", "does not conform": "stop"}
KEYS = ("part", "axis", "feature", "nominal", "scale", "kind", "state")  # words of an address
SHOWN = 500  # readings, the newest
SETTLED = 20  # readings
LEAST = 3  # readings of a chart
Known = Sequence[tuple[Size, int]]  # every quantity that was measured, and how often

NO_READINGS = (
    f"<p>No readings are in the ledger yet. A chart needs {LEAST} readings of one size at least, "
    "a bare capability 25.</p>"
)
NO_TOLERANCE = "<p>A tolerance is only asked of finished lengths with a nominal size.</p>"
QUIET = "Every reading lies inside its limits, and no rule is broken: nothing that chance could not do."
PROVISIONAL = Markup(
    "<p>Limits from fewer than {} readings are provisional (common practice, no source).</p>"
).format(SETTLED)
ALIKE = Markup(
    "<p>Pieces of one box resemble each other. The limits come from neighbours, so steps from box to "
    "box are seen sooner than the count of false alarms says.</p>"
)
LINES = (
    "Thick lines: the tolerance. Dashes: the limits. Thin line: the mean. Line without points: the "
    "weighted mean. Square: a reading that is marked. The limits come from these readings, "
    "not from the tolerance."
)


def size_of(words: Mapping[str, str]) -> Size | None:
    """The size that an address names, None if it names none; finished lengths need not say that they are."""
    if not any(words[key] for key in KEYS):
        return None
    try:
        nominal = float(words["nominal"] or 0)
    except ValueError:
        raise InputError("a nominal size is a number", field="nominal", value=words["nominal"]) from None
    more = {key: words[key] for key in ("part", "axis", "feature", "scale")}
    return Size(
        kind=words["kind"] or "length", state=words["state"] or "sintered", nominal_mm=nominal, **more
    )


def address(size: Size) -> str:
    """The words of an address that name a size."""
    words = {"part": size.part, "axis": size.axis, "feature": size.feature, "scale": size.scale}
    if size.nominal_mm:
        words["nominal"] = f"{size.nominal_mm:.10g}"
    if not size.finished:
        words |= {"kind": size.kind, "state": size.state}
    return urlencode({key: word for key, word in words.items() if word})


def more(tolerance: str, box: str) -> str:
    """The words of an address that say against what, and of which box."""
    words = {"tolerance": tolerance.strip(), "box": box.strip()}
    return urlencode({key: word for key, word in words.items() if word})


def options(known: Known, chosen: Size | None) -> dict[str, str]:
    """What can be chosen, by address; what is chosen too, if it was never measured."""
    names = {address(size): f"{control.name(size)} ({count(number, 'reading')})" for size, number in known}
    if chosen:
        names.setdefault(address(chosen), f"{control.name(chosen)} (no readings)")
    return names


def measured(known: Known, tolerance: str, box: str) -> Markup:
    """Everything that was measured, each with the way to its charts."""
    if not known:
        return Markup("<p>No readings of this box are in the ledger.</p>")
    rows = [measured_row(size, number, tolerance, box) for size, number in known]
    table = markup.table(("Size", "readings", "Note"), rows, "What was measured", numbers=(1,))
    return Markup("<h2>What was measured</h2>") + table


def measured_row(size: Size, number: int, tolerance: str, box: str) -> tuple[object, ...]:
    """A size with the way to its charts, and how often it was read."""
    query = f"{address(size)}&{more(tolerance if size.finished else '', box)}".rstrip("&")
    note = "" if number >= LEAST else f"a chart needs {LEAST} at least"
    return markup.link(f"/charts?{query}", control.name(size)), number, note


def picture(size: Size, charts: Control, half_mm: float | None) -> Markup:
    """The charts, and in words how many readings they mark."""
    title = control.name(size)
    marked = len({alarm.place for alarm in charts.alarms})
    verdict = f"{count(marked, 'reading')} of {len(charts.pieces)} marked" if marked else "none is marked"
    block = '<div class="chart" role="img" aria-label="control charts of {}; {}">{}</div>'
    return Markup(block).format(title, verdict, Markup(control.chart(charts, title, half_mm)))


def under_control(charts: Control) -> Markup:
    """What the charts say, in words."""
    alarms = view.alarms(charts)
    body = markup.items(alarms) if alarms else Markup("<p>{}</p>").format(QUIET)
    notes = PROVISIONAL if len(charts.pieces) < SETTLED else Markup("")
    if 1 < len(set(charts.boxes)) < len(charts.boxes):
        notes += ALIKE
    state = markup.state_of("look", "look") if alarms else markup.state_of("ready", "quiet")
    return Markup("<h2>Under control? {}</h2>{}{}").format(state, body, notes)


def against_tolerance(able: Characteristic, compared: Sequence[Compared]) -> Markup:
    """How many readings conform, and how well the size keeps to its tolerance."""
    counts = verdict_counts(compared)
    verdicts = markup.facts((markup.state_of(TONES[word], word), number) for word, number in counts)
    capability = markup.facts((name, value) for name, value, *_ in view.able(able))
    block = "<h2>Against the tolerance ± {} mm</h2>{}<h3>Capability</h3>{}"
    return Markup(block).format(f"{able.half_mm:g}", verdicts, capability)


def verdict_counts(compared: Sequence[Compared]) -> list[tuple[str, int]]:
    """Each verdict, and how many readings it was given."""
    return [(word, sum(row.said == word for row in compared)) for word in view.JUDGEMENTS]


def limits(charts: Control, able: Characteristic | None) -> Markup:
    """Every line of the charts and every figure of capability: value, how it comes about, source."""
    head = ("What", control.unit(charts), "How", "Source")
    parts = [
        Markup("<h2>How the figures come about</h2><p>{}</p>").format(LINES),
        markup.table(head, view.limits(charts), "Lines of the charts", numbers=(1,)),
    ]
    if able is not None:
        head = ("What", "value", "How", "Source")
        parts += [
            Markup("<h3>Capability</h3>"),
            markup.table(head, view.able(able), "Capability", numbers=(1,)),
        ]
    return Markup("").join(parts)


def readings(of_size: Sequence[Reading], charts: Control | None, judged: Judged | None) -> Markup:
    """Every reading behind the charts, with what it was marked for, and its verdict if one was asked."""
    verdicts = {row.reading: row for row in judged.compared} if judged else {}
    marks = marked_for(charts)
    first = max(len(of_size) - SHOWN, 0)
    rows = [
        reading_row(number, reading, marks.get(number, ""), verdicts.get(reading.number))
        for number, reading in list(enumerate(of_size, 1))[first:]
    ]
    head = ["Reading", "Box", "Piece", "Read", "Marked for"]
    if verdicts:
        head += ["off nominal, mm", "Against the tolerance"]
    else:
        rows = [row[: len(head)] for row in rows]
    table = markup.table(head, rows, "Readings of this size", numbers=(3, 5))
    left_out = Markup("<p>The {} before them are not shown.</p>").format(first) if first else Markup("")
    return Markup("<h2>Readings</h2>") + table + left_out


def marked_for(charts: Control | None) -> dict[int, str]:
    """Rules that a reading breaks, by its number in the charts, from 1."""
    rules: dict[int, dict[str, None]] = {}
    for alarm in charts.alarms if charts else ():
        rules.setdefault(alarm.place + 1, {})[view.SHORT[alarm.rule]] = None
    return {number: ", ".join(broken) for number, broken in rules.items()}


def reading_row(number: int, reading: Reading, marks: str, verdict: Compared | None) -> tuple[object, ...]:
    """One reading: its number in the charts, where it comes from, what was read, and its verdict."""
    value = signed(with_doubt(reading.kind, reading.value, doubt(reading), reading.unit))
    off, state = "", Markup("")
    if verdict is not None:
        off, state = (
            control.signed(verdict.deviation_mm, 4),
            markup.state_of(TONES[verdict.said], verdict.said),
        )
    return number, reading.box, reading.piece, value, marks, off, state
