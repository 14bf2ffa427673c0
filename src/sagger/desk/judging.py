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
from sagger.files import order_form
from sagger.goods.judged import Judged, Size
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
    mine = tuple(
        each
        for each in _finished(**asked)
        if not part or each.part == part or each.part.startswith(f"{part} ")
    )
    if not mine:
        raise InputError(
            "there are no finished lengths of these", remedy="`sagger readings load` takes a table."
        )
    judged = measure.judge(mine, _tolerance(tolerance))
    lines = view.lines(judged)
    if into is not None:
        into.mkdir(parents=True, exist_ok=True)
        for each in judged.characteristics:
            name = re.sub(
                r"[^a-z0-9.]+", "-", f"{each.part}-{each.axis}-{each.feature}-{each.nominal_mm:g}".lower()
            )
            (into / f"{name}.svg").write_text(control.chart(each), "utf-8")
        lines.append(f"{len(judged.characteristics)} charts: {into}")
    return view.document(judged), lines


def sizes(**asked: str) -> list[tuple[Size, int]]:
    """Every size of which there are finished lengths, and of how many; the most measured first.

    `asked` is as for `lengths`.
    """
    found = (measure.size(reading) for reading in _finished(**asked))
    counts = Counter(dataclasses.astuple(each) for each in found if each is not None)
    fields = [field.name for field in dataclasses.fields(Size)]
    return [(Size(**dict(zip(fields, key, strict=True))), count) for key, count in counts.most_common()]


def one(size: Size, tolerance: str, **asked: str) -> Judged:
    """What the readings of one size say against a tolerance; `tolerance` and `asked` as for `lengths`."""
    mine = []
    for reading in _finished(**asked):
        found = measure.size(reading)
        if found is not None and dataclasses.astuple(found) == dataclasses.astuple(size):
            mine.append(reading)
    return measure.judge(tuple(mine), _tolerance(tolerance))


def _finished(**asked: str) -> tuple[Reading, ...]:
    return readings.listed(ledger(), kind="length", state="sintered", **asked)


def gauge(instrument: str) -> Told:
    """A gauge study from the readings taken with an instrument."""
    return view.gauge(*measure.study(readings.listed(ledger(), kind="length"), instrument))


def _tolerance(text: str) -> Tolerance:
    asked = order_form.tolerance(text)
    if asked.kind != "iso2768":
        return asked
    return Tolerance(kind=asked.kind, grade=asked.grade, steps=cards.iso2768(asked.grade))
