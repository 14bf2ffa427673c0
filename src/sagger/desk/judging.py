"""Judging what was measured: tolerances, capability, charts, gauges."""

from __future__ import annotations

import dataclasses
import re
from collections import Counter
from pathlib import Path
from typing import Any

from sagger import cards
from sagger.desk.home import ledger
from sagger.errors import InputError
from sagger.files import order_values
from sagger.goods.judged import Control, Judged, Size
from sagger.goods.order import Tolerance
from sagger.goods.reading import Reading
from sagger.ledger import readings
from sagger.stations import measure
from sagger.views import control
from sagger.views import judged as view

Told = tuple[dict[str, Any], list[str]]


def lengths(tolerance: str, part: str, into: Path | None, **asked: str) -> Told:
    """Finished lengths in the ledger against a tolerance; with `into` a chart of each size in that folder.

    Parameters
    ----------
    tolerance : str
        As in an order: "0.2 mm", "0.5 %", "ISO 2768-m".
    part : str
        Only of this part or kind of coupon; "" = all.
    asked : str
        `box`, `powder`: only of these.

    Raises
    ------
    InputError
        If the tolerance cannot be read, or there is nothing to judge.
    """
    found = readings.listed(ledger(), kind="length", state="sintered", **asked)
    mine = tuple(each for each in found if not part or each.part == part or each.part.startswith(f"{part} "))
    if not mine:
        raise InputError(
            "there are no finished lengths of these", remedy="`sagger readings load` takes a table."
        )
    judged = measure.judge(mine, _tolerance(tolerance))
    lines = view.lines(judged)
    if into is not None:
        into.mkdir(parents=True, exist_ok=True)
        for each in judged.characteristics:
            of, title = each.size, control.name(each.size)
            name = re.sub(r"[^a-z0-9.]+", "-", f"{of.part}-{of.axis}-{of.feature}-{of.nominal_mm:g}".lower())
            drawn = control.chart(each.charts, title, each.half_mm)
            (into / f"{name}.svg").write_text(drawn, "utf-8")
        lines.append(f"{len(judged.characteristics)} charts: {into}")
    return view.document(judged), lines


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
    return measure.judge(of_size(size, **asked), _tolerance(tolerance))


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


def gauge(instrument: str) -> Told:
    """A gauge study from the readings taken with an instrument."""
    return view.gauge(*measure.study(readings.listed(ledger(), kind="length"), instrument))


def _tolerance(text: str) -> Tolerance:
    asked = order_values.tolerance(text)
    if asked.kind != "iso2768":
        return asked
    return Tolerance(kind=asked.kind, grade=asked.grade, steps=cards.iso2768(asked.grade))
