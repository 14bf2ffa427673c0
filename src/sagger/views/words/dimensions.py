"""Readings of lines of the drawing against their limits: lines, a document, charts, rows of a table."""

from __future__ import annotations

from collections import Counter

from sagger.goods.good import document as good_document
from sagger.goods.judged import ComparedLine, JudgedLines, MeasuredLine
from sagger.goods.plain import Table
from sagger.stations.measure.against_drawing import ends
from sagger.views.charts import control
from sagger.views.wording import count
from sagger.views.words.judged import JUDGEMENTS, alarms

MANY = 20  # readings outside, told one by one
FEW = 10  # readings that are left out, told one by one
OUTSIDE = "does not conform"


def document(judged: JudgedLines) -> Table:
    """Everything, in the unit of each line."""
    return good_document("sagger-judged-lines/1", judged)


def lines(judged: JudgedLines) -> list[str]:
    """Verdicts counted, a line for each feature, then what lies outside, piece by piece."""
    counts = Counter(row.said for row in judged.compared)
    verdicts = ", ".join(f"{counts[word]} {word}" for word in JUDGEMENTS)
    of = f"{count(len(judged.compared), 'reading')} of {count(len(judged.lines), 'dimension')}"
    text = [f"{of}: {verdicts}"]
    for line in judged.lines:
        text.append(_line(line))
        text += [f"    {words}" for words in (alarms(line.charts) if line.charts else ())]
    outside = [_outside(row) for row in judged.compared if row.said == OUTSIDE]
    text += outside[:MANY]
    if len(outside) > MANY:
        text.append(f"and {len(outside) - MANY} more readings outside; --json lists them all")
    text += [f"left out: {words}" for words in judged.left_out[:FEW]]
    return text


def chart(line: MeasuredLine) -> str:
    """Control charts of a feature with its limits; SVG."""
    if line.charts is None:
        return ""
    title = f"{line.part} {line.number}, {line.what}, {limits(line)}"
    return control.chart(line.charts, title, limits=ends(line))


def limits(line: MeasuredLine | ComparedLine) -> str:
    """What is allowed, "7.9 to 8.1 mm", "up to 0.1 mm"."""
    if line.lower is None:
        return f"up to {figure(line.upper)} {unit(line)}"
    return f"{figure(line.lower)} to {figure(line.upper)} {unit(line)}"


def nominal(line: MeasuredLine | ComparedLine) -> str:
    """Nominal value with its unit; nothing for form and place."""
    return "" if line.nominal is None else f"{figure(line.nominal)} {unit(line)}"


def unit(line: MeasuredLine | ComparedLine) -> str:
    """Its unit as a person writes it."""
    return "°" if line.unit == "deg" else line.unit


def figure(value: float) -> str:
    """To a tenth of a micrometre, without zeros at the end."""
    return f"{value:.4f}".rstrip("0").rstrip(".")


def _line(line: MeasuredLine) -> str:
    spread = f"{line.least:.4f} to {line.greatest:.4f}, mean {line.mean:.4f} {unit(line)}"
    read = count(line.pieces, "piece")
    read += f" ({count(line.readings, 'reading')})" if line.readings > line.pieces else ""
    verdicts = zip((line.conform, line.undecided, line.outside), JUDGEMENTS, strict=True)
    said = ", ".join(f"{number} {word}" for number, word in verdicts if number)
    title = " ".join(filter(None, (line.part, line.number, line.what, nominal(line))))
    return f"{title}, {limits(line)}: {read}, {spread}; {said}{_able(line)}"


def _able(line: MeasuredLine) -> str:
    if line.index is not None:
        return f"; capability {line.index:.2f} ({line.index_low:.2f} to {line.index_high:.2f})"
    return "" if line.index_least is None else f"; capability at least {line.index_least:.2f}, 95 % sure"


def _outside(row: ComparedLine) -> str:
    read = f"{row.value:.4f} ± {row.u:.4f} {unit(row)}"
    return f"outside: {row.box} {row.piece} {row.number} {row.what}: {read}, {limits(row)}"
