"""Judging what was measured: tolerances, capability, charts, gauges."""

from __future__ import annotations

import dataclasses
import re
from collections import Counter
from pathlib import Path
from typing import TypedDict, Unpack

from sagger import cards
from sagger.desk.home import ledger, write_whole
from sagger.desk.measuring import drawings
from sagger.errors import InputError
from sagger.files import order_values
from sagger.goods.judged import Control, Judged, JudgedLines, Size
from sagger.goods.order import Tolerance
from sagger.goods.plain import Table
from sagger.goods.reading import Reading
from sagger.ledger import boxes, readings
from sagger.stations import measure
from sagger.views.charts import control
from sagger.views.words import dimensions as dimension_words
from sagger.views.words import judged as view


class JudgeWords(TypedDict, total=False):
    """Which readings are meant, as for `judge_dimensions`."""

    part: str
    box: str
    powder: str
    job: int


def judge(tolerance: str, *, part: str = "", box: str = "", powder: str = "") -> Judged:
    """What the finished lengths in the ledger say against a tolerance: verdicts, capability, charts.

    Parameters
    ----------
    tolerance : str
        As in an order: "0.2 mm", "0.5 %", "ISO 2768-m".
    part : str
        Only of this part or kind of coupon; "" = all.
    box, powder : str
        Only of this printed box, of boxes booked with this powder card; "" = all.

    Raises
    ------
    InputError
        If the tolerance cannot be read, or there is nothing to judge.
    """
    found = readings.listed(ledger(), kind="length", state="sintered", box=box, powder=powder)
    mine = tuple(each for each in found if not part or each.part == part or each.part.startswith(f"{part} "))
    if not mine:
        raise InputError(
            "there are no finished lengths of these", remedy="`sagger readings load` takes a table."
        )
    return measure.judge(mine, _tolerance(tolerance), cards.iso286())


def lengths(
    tolerance: str, part: str, into: Path | None, *, box: str = "", powder: str = ""
) -> tuple[Table, list[str]]:
    """As `judge`, as a document and as lines; with `into` a chart of each size in that folder."""
    judged = judge(tolerance, part=part, box=box, powder=powder)
    lines = view.lines(judged)
    if into is not None:
        into.mkdir(parents=True, exist_ok=True)
        for judged_size in judged.characteristics:
            of, title = judged_size.size, control.name(judged_size.size)
            name = re.sub(r"[^a-z0-9.]+", "-", f"{of.part}-{of.axis}-{of.feature}-{of.nominal_mm:g}".lower())
            drawn = control.chart(judged_size.charts, title, judged_size.half_mm)
            (into / f"{name}.svg").write_text(drawn, "utf-8")
        lines.append(f"{len(judged.characteristics)} charts: {into}")
    return view.document(judged), lines


def judge_dimensions(*, part: str = "", box: str = "", powder: str = "", job: int = 0) -> JudgedLines:
    """What readings of lines of the drawing say against the limits of the plan that they were printed from.

    Parameters
    ----------
    part, box, powder : str
        As for `judge`.
    job : int
        Only of boxes printed by the plan of this job; 0 = all.

    Raises
    ------
    InputError
        If there is nothing to judge.
    """
    book = ledger()
    names = boxes.of_job(book, job) if job else [box]
    by_box = (readings.listed(book, kind="dimension", box=name, powder=powder) for name in names)
    rows = [row for of_box in by_box for row in of_box]
    mine = [row for row in rows if (not part or row.part == part) and (not box or row.box == box)]
    if not mine:
        remedy = "`sagger readings load` takes a table with a column `dimension`."
        raise InputError("no line of a drawing was measured on these", remedy=remedy)
    return measure.judge_lines(drawings.paired(book, mine))


def dimensions(into: Path | None, **asked: Unpack[JudgeWords]) -> tuple[Table, list[str]]:
    """As `judge_dimensions`, as a document and as lines; with `into` charts of each feature, too."""
    judged = judge_dimensions(**asked)
    lines = dimension_words.lines(judged)
    if into is not None:
        charted = [line for line in judged.lines if line.charts is not None]
        for line in charted:
            name = re.sub(r"[^a-z0-9.]+", "-", f"{line.part}-{line.number}-{line.what}".lower())
            write_whole(into / f"{name}.svg", dimension_words.chart(line).encode())
        lines.append(f"{len(charted)} charts: {into}")
    return dimension_words.document(judged), lines


def sizes(**asked: str) -> list[tuple[Size, int]]:
    """Every quantity of every part that was measured, and how often; finished sizes first, then the most.

    `asked` are `box` and `powder`, as for `lengths`.
    """
    found = [measure.size(reading) for reading in readings.listed(ledger(), **asked)]
    counts = Counter(dataclasses.astuple(each) for each in found)
    kept = {dataclasses.astuple(each): each for each in found}
    rows = [(kept[key], count) for key, count in counts.items()]
    return sorted(rows, key=lambda row: (not row[0].finished, -row[1]))


def one(size: Size, tolerance: str, **asked: str) -> Judged:
    """What the readings of a finished size say against a tolerance; words as for `lengths`."""
    return measure.judge(of_size(size, **asked), _tolerance(tolerance), cards.iso286())


def charted(size: Size, **asked: str) -> Control:
    """Control charts of any quantity, without a tolerance.

    Raises
    ------
    InputError
        If there are too few readings.
    """
    mine = of_size(size, **asked)
    if not mine:
        raise InputError(f"{control.name(size)}: 0 readings; a chart needs 3 at least")
    return measure.control(mine)


def of_size(size: Size, **asked: str) -> tuple[Reading, ...]:
    """Readings of one quantity, oldest first."""
    key = dataclasses.astuple(size)
    found = readings.listed(ledger(), kind=size.kind, state=size.state, **asked)
    return tuple(each for each in found if dataclasses.astuple(measure.size(each)) == key)


def gauge(instrument: str) -> tuple[Table, list[str]]:
    """A gauge study from the readings taken with an instrument."""
    return view.gauge(*measure.study(readings.listed(ledger(), kind="length"), instrument))


def _tolerance(text: str) -> Tolerance:
    asked = order_values.tolerance(text)
    if asked.kind != "iso2768":
        return asked
    return Tolerance(kind=asked.kind, grade=asked.grade, steps=cards.iso2768(asked.grade))
