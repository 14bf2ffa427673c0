"""Was it right? Readings against tolerances, and what they say of the process."""

from __future__ import annotations

import math
from functools import cache
from itertools import groupby

import numpy as np

from sagger.goods.judged import Alarm, Characteristic, Compared, Judged, Size
from sagger.goods.order import Tolerance
from sagger.goods.reading import Reading
from sagger.physics import capability, charts, tolerance

WEIGHT, WIDE = 0.2, 2.86  # of weighted means: a false alarm every 371 points, one sd seen in 10
SLACK, LIMIT = 0.5, 5.0  # of cumulative sums: 465 and 10
SHARE = SURE = 0.95
LEAST = 3  # pieces for a scatter


def compare(readings: tuple[Reading, ...], asked: Tolerance) -> tuple[tuple[Compared, ...], tuple[str, ...]]:
    """Each finished length against its tolerance with a guard band, and which were left out and why.

    Source
    ------
    ISO 14253-1, `tolerance.guarded`.
    """
    kept, left = [], []
    for reading in readings:
        if (reading.kind, reading.state) != ("length", "sintered"):
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
        value, u = reading.value * 1e3, math.hypot(reading.u, reading.u_shared) * 1e3
        kept.append(
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
            )
        )
    return tuple(kept), tuple(left)


def judge(readings: tuple[Reading, ...], asked: Tolerance) -> Judged:
    """Every reading against its tolerance, and capability and charts of every size with three pieces or more.

    Parameters
    ----------
    readings : tuple of Reading
        In the order in which they were taken. Coupons count as one part, whatever their label.
    asked : Tolerance
        ± on every length.
    """
    compared, left = compare(readings, asked)
    parts = {reading.number: _part(reading) for reading in readings}

    def key(each: Compared) -> tuple[str, str, str, float]:
        return parts[each.reading], each.axis, each.feature, round(each.nominal_mm, 6)

    found, few = [], []
    for (part, *_), group in groupby(sorted(compared, key=key), key=key):
        rows = sorted(group, key=lambda each: each.reading)
        if len(rows) < LEAST or np.ptp([row.deviation_mm for row in rows]) == 0:
            few.append(_no_scatter(part, rows))
        else:
            found.append(_characteristic(part, rows))
    return Judged(compared=compared, characteristics=tuple(found), left_out=(*left, *few))


def size(reading: Reading) -> Size | None:
    """Which size of which part a finished length belongs to; None if it is no such or has no nominal."""
    if (reading.kind, reading.state) != ("length", "sintered") or reading.nominal is None:
        return None
    nominal = round(reading.nominal * 1e3, 6)  # a nanometre: 20 mm and 0.02 m are one size
    return Size(part=_part(reading), axis=reading.axis, feature=reading.feature, nominal_mm=nominal)


def _no_scatter(part: str, rows: list[Compared]) -> str:
    name = " ".join(filter(None, (part, rows[0].axis, rows[0].feature, f"{rows[0].nominal_mm:g} mm")))
    if len(rows) < LEAST:
        have = "1 reading" if len(rows) == 1 else f"{len(rows)} readings"
        return f"{name}: {have}; a chart needs {LEAST} at least, a bare capability {capability.LEAST}"
    return f"{name}: all {len(rows)} readings are the same; a chart needs a gauge that tells them apart"


def _part(reading: Reading) -> str:
    name = reading.part or reading.piece
    return name.split()[0] if reading.coupon and name else name


def _characteristic(part: str, rows: list[Compared]) -> Characteristic:
    values = np.array([row.deviation_mm for row in rows])
    mean, sd, half = float(values.mean()), float(values.std(ddof=1)), rows[0].half_mm
    index = capability.judged(values, -half, half)
    holds = capability.two_sided(len(values), SHARE, SURE) * sd
    chart, ranges = charts.individuals(values), charts.moving_range(values)
    spread = chart.sd or sd
    wide = charts.ewma_limits(chart.centre, spread, WEIGHT, WIDE)
    up, down = charts.cusum(values, chart.centre, spread, SLACK)
    weighted = charts.ewma(values, WEIGHT, chart.centre)
    return Characteristic(
        part=part,
        axis=rows[0].axis,
        feature=rows[0].feature,
        nominal_mm=rows[0].nominal_mm,
        half_mm=half,
        readings=tuple(row.reading for row in rows),
        boxes=tuple(row.box for row in rows),
        pieces=tuple(f"{row.box} {row.piece}" for row in rows),
        deviations_mm=tuple(values.tolist()),
        mean_mm=mean,
        sd_mm=sd,
        index=index.value,
        index_low=index.low,
        index_high=index.high,
        index_least=index.least,
        holds_mm=(mean - holds, mean + holds),
        lower_mm=chart.lower,
        upper_mm=chart.upper,
        chart_sd_mm=spread,
        range_mm=ranges.centre,
        range_upper_mm=ranges.upper,
        weighted_mm=tuple(weighted.tolist()),
        weighted_half_mm=wide.upper - chart.centre,
        sums=tuple(zip(up.tolist(), down.tolist(), strict=True)),
        alarms=_alarms(values, spread, ranges.upper, weighted - chart.centre, np.maximum(up, down)),
        points_per_false_alarm=_false_alarm(),
        points_to_see_one_sd=_seen(),
    )


def _alarms(
    values: np.ndarray, spread: float, range_upper: float, weighted: np.ndarray, sums: np.ndarray
) -> tuple[Alarm, ...]:
    """What every chart has to say, by place; of a stretch that lies outside only its beginning."""
    half = charts.ewma_limits(0.0, spread, WEIGHT, WIDE).upper
    ranges = np.flatnonzero(np.abs(np.diff(values)) > range_upper) + 1
    z = (values - values.mean()) / spread
    found = [(n, rule, _false_alarm()) for n, rule in charts.alarms(z)]
    found += [(int(n), "moving range", charts.moving_range_every()) for n in ranges]
    found += [(n, "weighted mean", _weighted_alarm()) for n in _begun(np.abs(weighted) > half)]
    found += [(n, "cumulative sum", _sums_alarm()) for n in _begun(sums > LIMIT)]
    by_place = sorted(found, key=lambda each: each[0])
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
