"""Readings of lines of the drawing against their limits, one by one and together."""

from __future__ import annotations

import math
from collections.abc import Sequence

from sagger.errors import InputError
from sagger.goods import balloon
from sagger.goods.asked_line import AskedLine
from sagger.goods.judged import ComparedLine, Control, JudgedLines, MeasuredLine
from sagger.goods.reading import Reading
from sagger.stations.measure.judge import control
from sagger.statistics import capability, chance, tolerance
from sagger.units import into

CONFORMS, UNDECIDED, OUTSIDE = "conforms", "undecided", "does not conform"
FINISHED = "sintered"
Pair = tuple[Reading, AskedLine | None]  # None where no drawing is known of its piece


def judge_lines(pairs: Sequence[Pair]) -> JudgedLines:
    """Every reading of a line against its limits, and what those of one feature say together.

    Parameters
    ----------
    pairs : sequence of (Reading, AskedLine or None)
        Readings of kind "dimension" in the order in which they were taken, each with its line.

    Returns
    -------
    JudgedLines
        A line without limits, and a reading whose line its drawing does not have, are left out and told.

    Source
    ------
    ISO 14253-1, `tolerance.guarded`; the width of a zone has an upper limit alone. Chance inside: JCGM
    106:2012, 7, for a normal reading. Capability to one limit: ISO 22514-2, for a normal distribution, which
    the width of a zone has only roughly.
    """
    compared, left = list[ComparedLine](), list[str]()
    groups: dict[tuple[str, str], list[tuple[Reading, ComparedLine]]] = {}
    for reading, asked in pairs:
        row = _compared(reading, asked)
        if isinstance(row, str):
            left.append(f"{reading.box} {reading.piece} {reading.feature}: {row}")
            continue
        compared.append(row)
        groups.setdefault((row.part, row.number), []).append((reading, row))
    ordered = sorted(groups.items(), key=lambda item: (item[0][0], balloon.read(item[0][1])))
    return JudgedLines(
        compared=tuple(compared),
        lines=tuple(_together(rows) for _, rows in ordered),
        left_out=tuple(left),
    )


def _compared(reading: Reading, asked: AskedLine | None) -> ComparedLine | str:
    """The reading beside its limits, or why it cannot be."""
    number = balloon.of(reading.feature)
    if asked is None or number is None or asked.feature(number) != reading.feature:
        return "the drawing of its plan has no such line"
    if reading.state != FINISHED:
        return f"read {reading.state}; limits are those of the finished part"
    if asked.upper is None or asked.lower is None:
        return "the drawing gives no limits"
    value = into(reading.value, asked.unit)
    u = into(chance.combined((reading.u, reading.u_shared)), asked.unit)
    lower = -math.inf if asked.zone else asked.lower
    verdict = tolerance.guarded(value, u, lower, asked.upper)
    return ComparedLine(
        reading=reading.number,
        box=reading.box,
        piece=reading.piece,
        part=reading.part,
        number=str(number),
        what=asked.what,
        unit=asked.unit,
        nominal=asked.nominal,
        lower=None if asked.zone else asked.lower,
        upper=asked.upper,
        value=value,
        u=u,
        # the bonus of material is not known here: beyond the width alone nothing is decided
        said=UNDECIDED if asked.eased and verdict == OUTSIDE else verdict,
        inside=chance.within(value, u, lower, asked.upper),
    )


def _together(rows: list[tuple[Reading, ComparedLine]]) -> MeasuredLine:
    of, values = rows[0][1], [row.value for _, row in rows]
    verdicts = [row.said for _, row in rows]
    by_piece: dict[tuple[str, str], list[float]] = {}
    for _, row in rows:
        by_piece.setdefault((row.box, row.piece), []).append(row.value)
    charts = _charts(tuple(reading for reading, _ in rows))
    index = _index(charts, of)
    return MeasuredLine(
        part=of.part,
        number=of.number,
        what=of.what,
        unit=of.unit,
        nominal=of.nominal,
        lower=of.lower,
        upper=of.upper,
        pieces=len(by_piece),
        readings=len(rows),
        least=min(values),
        mean=math.fsum(math.fsum(many) / len(many) for many in by_piece.values()) / len(by_piece),
        greatest=max(values),
        conform=verdicts.count(CONFORMS),
        undecided=verdicts.count(UNDECIDED),
        outside=verdicts.count(OUTSIDE),
        charts=charts,
        index=index.value if index else None,
        index_low=index.low if index else None,
        index_high=index.high if index else None,
        index_least=index.least if index else None,
    )


def _charts(readings: tuple[Reading, ...]) -> Control | None:
    try:
        return control(readings)
    except InputError:  # too few pieces, or all read the same
        return None


def ends(line: MeasuredLine | ComparedLine) -> tuple[float, ...]:
    """Its limits as its charts show them: about nominal where they show deviations."""
    middle = line.nominal or 0.0
    return tuple(end - middle for end in (line.lower, line.upper) if end is not None)


def _index(charts: Control | None, of: ComparedLine) -> capability.Index | None:
    if charts is None:
        return None
    *lower, upper = ends(of)
    return capability.judged(charts.values, lower[0] if lower else -math.inf, upper)
