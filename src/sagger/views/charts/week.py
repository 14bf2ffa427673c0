"""A week of the cell as a picture: machines, people and boxes as rows; hours with nobody there are shaded."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from typing import NamedTuple

from sagger.goods.asked import CellPlan, PlannedBuild
from sagger.views.charts import plot

WIDE, ROW, HEAD, FOOT, LEFT = 1000.0, 26.0, 34.0, 30.0, 130.0  # pixels
HOURS = 7 * 24
GAP = 0.35  # h between two bars that follow each other
NIGHT = "#ececec"
TONES = ("#a8c8e4", "#f0c8a0", "#b8dcb0", "#dcc0e4", "#f0e090")  # by powder; the name stands in the bar
LETTER = 7.6  # width of one, about


class WeekBar(NamedTuple):
    """Something that takes a row for a while."""

    row: str
    begins: str  # ISO
    ends: str
    words: str
    powder: str


def week(
    plan: CellPlan,
    machines: Sequence[str],
    monday: str,
    attended: Sequence[tuple[str, str]],
    fixed: Sequence[str] = (),
) -> str:
    """The seven days from a Monday [ISO], as SVG.

    Parameters
    ----------
    machines : sequence of str
        Rows in their order; rows for the boxes follow by themselves.
    attended : sequence of (str, str)
        Stretches with somebody there [ISO].
    fixed : sequence of str
        Builds that a person fixed, "order/build": their bars have a thick line under them.
    """
    begin = datetime.fromisoformat(monday)
    bars = [bar for bar in _bars(plan.builds) if _within(begin, bar)]
    bars = list(_in_lanes(bars))
    rows = [*machines, *sorted({bar.row for bar in bars} - set(machines))]
    high = HEAD + ROW * len(rows) + FOOT
    frame = plot.Frame((0, HOURS), (len(rows), 0), WIDE, high, 12, LEFT, HEAD, FOOT)
    powders = sorted({build.powder for build in plan.builds})
    body = [plot.group("shut", plot.cell(frame, (0, HOURS), (len(rows), 0), NIGHT))]
    body.append(plot.group("open", *(_open(frame, begin, stretch, len(rows)) for stretch in attended)))
    for number, name in enumerate(rows):
        body.append(plot.text(LEFT - 8, frame.up(number + 0.66), name, "end"))
        body.append(plot.group("rows", plot.line(frame, (0, HOURS), (number, number), "#ccc", 0.6)))
    for day in range(7):
        name = (begin + timedelta(days=day)).strftime("%a %d")
        body.append(plot.text(frame.across(24 * day + 12), high - 10, name))
        day_line = plot.line(frame, (24 * day, 24 * day), (0, len(rows)), "#999", 0.8)
        body.append(plot.group("days", day_line))
    for bar in bars:
        tone = TONES[powders.index(bar.powder) % len(TONES)]
        body.append(_drawn(frame, begin, bar, (rows.index(bar.row), tone)))
        if bar.words in fixed:
            body.append(_underlined(frame, begin, bar, rows.index(bar.row)))
    title = f"the week of {begin:%Y-%m-%d}, as planned {plan.now.replace('T', ' ')}"
    body.append(plot.text(WIDE / 2, 20, title, more='font-weight="bold"'))
    return plot.svg(frame, body)


def _bars(builds: Sequence[PlannedBuild]) -> Iterator[WeekBar]:
    """What each build takes; heats and loads once, with all that is in them."""
    runs: dict[tuple[str, int], list[PlannedBuild]] = {}
    for build in builds:
        name = f"{build.order}/{build.build}"
        yield WeekBar(build.printer, build.starts, build.printed, name, build.powder)
        yield WeekBar(build.crew, build.bench_from, build.emptied, name, build.powder)
        yield WeekBar("job box", build.starts, build.emptied, name, build.powder)
        runs.setdefault((build.oven, build.heat), []).append(build)
        if build.load >= 0:
            runs.setdefault((build.furnace, build.load), []).append(build)
    for (machine, _), mates in runs.items():
        one = mates[0]
        heat = machine == one.oven
        begins, ends = (one.heated_from, one.heated_to) if heat else (one.fired_from, one.ready)
        names = ", ".join(f"{mate.order}/{mate.build}" for mate in mates)
        yield WeekBar(machine, begins, ends, names, one.powder)


def _in_lanes(bars: Sequence[WeekBar]) -> Iterator[WeekBar]:
    """What two people do, or two boxes hold, at the same time stands in two rows."""
    free: dict[str, list[str]] = {}
    for bar in sorted(bars, key=lambda bar: bar.begins):
        ends = free.setdefault(bar.row, [])
        lane = next((place for place, end in enumerate(ends) if end <= bar.begins), len(ends))
        ends[lane : lane + 1] = [bar.ends]
        yield bar._replace(row=f"{bar.row} ({lane + 1})") if lane else bar


def _within(begin: datetime, bar: WeekBar) -> bool:
    return _hours(begin, bar.ends) > 0 and _hours(begin, bar.begins) < HOURS


def _hours(begin: datetime, moment: str) -> float:
    return (datetime.fromisoformat(moment) - begin).total_seconds() / 3600


def _open(frame: plot.Frame, begin: datetime, stretch: tuple[str, str], rows: int) -> str:
    low, high = (min(max(_hours(begin, moment), 0.0), HOURS) for moment in stretch)
    return plot.cell(frame, (low, high), (rows, 0), "white") if high > low else ""


def _drawn(frame: plot.Frame, begin: datetime, bar: WeekBar, place: tuple[int, str]) -> str:
    number, tone = place
    low, high = _shown(begin, bar)
    across = frame.across(high) - frame.across(low)
    words = bar.words[: max(0, int(across / LETTER))]
    box = plot.cell(frame, (low, high - GAP), (number + 0.88, number + 0.12), tone)
    said = plot.text(frame.across(low) + 3, frame.up(number + 0.68), words, "start") if words else ""
    return plot.group("bar", box, said)


def _underlined(frame: plot.Frame, begin: datetime, bar: WeekBar, number: int) -> str:
    low, high = _shown(begin, bar)
    return plot.group("fixed", plot.line(frame, (low, high - GAP), (number + 0.9,) * 2, "#16181b", 3))


def _shown(begin: datetime, bar: WeekBar) -> tuple[float, float]:
    """Hours of the week in which a bar begins and ends."""
    low, high = (min(max(_hours(begin, moment), 0.0), HOURS) for moment in (bar.begins, bar.ends))
    return low, high
