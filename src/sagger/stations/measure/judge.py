"""Was it right? Readings against tolerances, and what they say of the process."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from dataclasses import astuple
from functools import cache

import numpy as np

from sagger.errors import InputError
from sagger.goods.judged import Alarm, Characteristic, Compared, Control, Judged, Size
from sagger.goods.order import Tolerance
from sagger.goods.reading import UNITS, Reading
from sagger.statistics import capability, chance, charts, tolerance
from sagger.units import into

WEIGHT, WIDE = 0.2, 2.86  # of weighted means: a false alarm every 371 points, one sd seen in 10
SLACK, LIMIT = 0.5, 5.0  # of cumulative sums: 465 and 10
SHARE = SURE = 0.95
LEAST = 3  # pieces for a scatter


def compare(
    readings: tuple[Reading, ...], asked: Tolerance, printed: Sequence[float] | None = None
) -> tuple[tuple[Compared, ...], tuple[str, ...]]:
    """Each finished length against its tolerance with a guard band, and which were left out and why.

    Parameters
    ----------
    readings : tuple of Reading
        Those of other kinds and states are passed over.
    asked : Tolerance
        ± on every length.
    printed : sequence of 3 float, or None
        Of sand, which is finished as it is printed: printed over asked size along x, y, z [-]. Its lengths
        are held against the size as printed, with the half width of the size asked for.

    Source
    ------
    ISO 14253-1, `tolerance.guarded`; chance inside: JCGM 106:2012, 7, for a normal reading.
    """
    compared, left = [], []
    state = "sintered" if printed is None else "green"
    for reading in readings:
        if (reading.kind, reading.state) != ("length", state):
            continue
        name = f"{reading.box} {reading.piece} {reading.feature}".strip()
        if reading.nominal is None:
            left.append(f"{name}: no nominal size")
            continue
        nominal = reading.nominal * 1e3
        half = tolerance.half_width_mm(nominal, asked)
        if half is None:
            left.append(f"{name}: the tolerance gives no value at {nominal:g} mm")
            continue
        nominal *= 1.0 if printed is None else _enlarged(reading.axis, printed)
        value, u = reading.value * 1e3, chance.combined((reading.u, reading.u_shared)) * 1e3
        compared.append(
            Compared(
                reading=reading.number,
                box=reading.box,
                piece=reading.piece,
                axis=reading.axis,
                feature=reading.feature,
                nominal_mm=nominal,
                half_mm=half,
                deviation_mm=value - nominal,
                u_mm=u,
                said=tolerance.guarded(value, u, nominal - half, nominal + half),
                inside=chance.within(value, u, nominal - half, nominal + half),
            )
        )
    return tuple(compared), tuple(left)


def _enlarged(axis: str, printed: Sequence[float]) -> float:
    """Of a length along a machine axis; of one whose axis nobody wrote down, the mean."""
    return printed["xyz".index(axis)] if axis else sum(printed) / len(printed)


def judge(readings: tuple[Reading, ...], asked: Tolerance, grades: tuple[tolerance.Row, ...] = ()) -> Judged:
    """Every reading against its tolerance, and capability and charts of every size with three pieces or more.

    Parameters
    ----------
    readings : tuple of Reading
        In the order in which they were taken. Coupons count as one part, whatever their label.
    asked : Tolerance
        ± on every length.
    grades : tuple of (over mm, up to mm, {grade: full width mm}, ...)
        The table of standard tolerances of ISO 286-1; without it no grade is told.
    """
    compared, left = compare(readings, asked)
    by_number = {reading.number: reading for reading in readings}
    groups: dict[tuple[object, ...], list[Compared]] = {}
    for each in sorted(compared, key=lambda each: each.reading):
        groups.setdefault(astuple(size(by_number[each.reading])), []).append(each)
    characteristics, few = [], []
    for _, rows in sorted(groups.items()):
        mine = tuple(by_number[row.reading] for row in rows)
        try:
            characteristics.append(_characteristic(size(mine[0]), control(mine), rows[0].half_mm, grades))
        except InputError as error:
            few.append(error.what)
    return Judged(compared=compared, characteristics=tuple(characteristics), left_out=(*left, *few))


def size(reading: Reading) -> Size:
    """Which quantity of which part a reading belongs to."""
    return Size(
        kind=reading.kind,
        state=reading.state,
        part=_part(reading),
        axis=reading.axis,
        feature=reading.feature,
        nominal_mm=round(into(reading.nominal or 0.0, _unit(reading)), 6),  # 20 mm and 0.02 m are one size
        scale=reading.unit if reading.kind not in UNITS else "",
    )


def _unit(reading: Reading) -> str:
    """Of its nominal value."""
    return reading.unit if reading.kind == "dimension" else "mm"


def control(readings: tuple[Reading, ...]) -> Control:
    """Control charts of readings of one quantity; of finished lengths their deviations from nominal.

    Readings of a line of the drawing are charted by piece, each the mean of its readings.

    Raises
    ------
    InputError
        If there are fewer than three readings, or they are all the same.
    """
    of = size(readings[0])
    unit = UNITS.get(of.kind, of.scale)
    if of.kind == "dimension":
        readings = by_piece(readings)
    values = np.array([reading.value for reading in readings], float)
    if of.finished:
        values = values * 1e3 - [(reading.nominal or 0.0) * 1e3 for reading in readings]
    elif of.kind in UNITS or of.kind == "dimension":
        values = np.array([into(value, unit) for value in values.tolist()])
        values = values - (of.nominal_mm if of.kind == "dimension" else 0.0)
    if len(values) < LEAST or np.ptp(values) == 0:
        raise InputError(_no_scatter(of, len(values)))
    chart, ranges = charts.individuals(values), charts.moving_range(values)
    sd = float(values.std(ddof=1))
    spread = chart.sd or sd
    up, down = charts.cusum(values, chart.centre, spread, SLACK)
    weighted = charts.ewma(values, WEIGHT, chart.centre)
    return Control(
        unit=unit,
        off_nominal=of.finished or (of.kind == "dimension" and of.nominal_mm > 0),
        readings=tuple(reading.number for reading in readings),
        boxes=tuple(reading.box for reading in readings),
        pieces=tuple(f"{reading.box} {reading.piece}" for reading in readings),
        values=tuple(values.tolist()),
        mean=chart.centre,
        sd=sd,
        lower=chart.lower,
        upper=chart.upper,
        chart_sd=spread,
        range_mean=ranges.centre,
        range_upper=ranges.upper,
        weighted=tuple(weighted.tolist()),
        weighted_half=charts.ewma_limits(0.0, spread, WEIGHT, WIDE).upper,
        sums=tuple(zip(up.tolist(), down.tolist(), strict=True)),
        alarms=_alarms(values, spread, ranges.upper, weighted - chart.centre, np.maximum(up, down)),
        points_per_false_alarm=_false_alarm(),
        points_to_see_one_sd=_seen(),
    )


def by_piece(readings: tuple[Reading, ...]) -> tuple[Reading, ...]:
    """One reading for each piece, where it was first read: the mean of all."""
    of_piece: dict[tuple[str, str], list[Reading]] = {}
    for reading in readings:
        of_piece.setdefault((reading.box, reading.piece), []).append(reading)
    return tuple(
        dataclasses.replace(many[0], value=math.fsum(one.value for one in many) / len(many))
        for many in of_piece.values()
    )


def _no_scatter(of: Size, count: int) -> str:
    what = f"{of.nominal_mm:g} {of.scale or 'mm'}" if of.nominal_mm else f"{of.state} {of.kind}"
    name = " ".join(filter(None, (of.part, of.axis, of.feature, what)))
    if count < LEAST:
        have = "1 reading" if count == 1 else f"{count} readings"
        return f"{name}: {have}; a chart needs {LEAST} at least, a bare capability {capability.LEAST}"
    return f"{name}: all {count} readings are the same; a chart needs a gauge that tells them apart"


def _part(reading: Reading) -> str:
    name = reading.part or reading.piece
    return name.split()[0] if reading.coupon and name else name


def _characteristic(
    of: Size, seen: Control, half: float, grades: tuple[tolerance.Row, ...]
) -> Characteristic:
    index = capability.judged(seen.values, -half, half)
    centred = capability.centred(seen.values, -half, half, 0.0)
    holds = capability.two_sided(len(seen.values), SHARE, SURE) * seen.sd
    return Characteristic(
        size=of,
        half_mm=half,
        charts=seen,
        index=index.value,
        index_low=index.low,
        index_high=index.high,
        index_least=index.least,
        width=centred.value,
        width_low=centred.low,
        width_high=centred.high,
        outside=centred.outside,
        about_nominal=centred.target,
        holds_mm=(seen.mean - holds, seen.mean + holds),
        grade=_grade(2 * holds, of.nominal_mm, grades),
    )


def _grade(width_mm: float, nominal_mm: float, grades: tuple[tolerance.Row, ...]) -> str:
    """Finest standard grade as wide as that; "" beyond the table, or without one."""
    if not grades or nominal_mm > max(row[1] for row in grades):
        return ""
    return tolerance.it_grade(width_mm, nominal_mm, grades) or ""


def _alarms(
    values: np.ndarray, spread: float, range_upper: float, weighted: np.ndarray, sums: np.ndarray
) -> tuple[Alarm, ...]:
    """What every chart has to say, by place; of a stretch that lies outside only its beginning."""
    half = charts.ewma_limits(0.0, spread, WEIGHT, WIDE).upper
    ranges = np.flatnonzero(np.abs(np.diff(values)) > range_upper) + 1
    z = (values - values.mean()) / spread
    alarms = [(n, rule, _false_alarm()) for n, rule in charts.alarms(z)]
    alarms += [(int(n), "moving range", charts.moving_range_every()) for n in ranges]
    alarms += [(n, "weighted mean", _weighted_alarm()) for n in _begun(np.abs(weighted) > half)]
    alarms += [(n, "cumulative sum", _sums_alarm()) for n in _begun(sums > LIMIT)]
    by_place = sorted(alarms, key=lambda each: each[0])
    return tuple(Alarm(place=place, rule=rule, every=every) for place, rule, every in by_place)


def _begun(broken: np.ndarray) -> list[int]:
    """Each beginning of a stretch that lies outside."""
    return [int(n) for n in np.flatnonzero(broken & ~np.concatenate([[False], broken[:-1]]))]


@cache
def _false_alarm() -> float:
    return charts.rules_run_length(charts.DEFAULT, 9, 0.0)


@cache
def _weighted_alarm() -> float:
    return charts.ewma_run_length(WEIGHT, WIDE)


@cache
def _sums_alarm() -> float:
    return charts.cusum_two_sided(SLACK, LIMIT)


@cache
def _seen() -> float:
    return charts.ewma_run_length(WEIGHT, WIDE, 1.0)
