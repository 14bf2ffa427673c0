"""What each station does on a day, on paper: one page a station, to be read at the machine."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from sagger.goods.asked import CellPlan
from sagger.goods.good import good
from sagger.views.paper import press
from sagger.views.words.cell_lines import DaySheet, DayTask

KEEP = "Follow the instructions of the machine, and the safety rules that hold where you work."
SAY = "What goes otherwise: write it here, and have it entered (sagger cell event, or the page Cell)."


@good
class StationPage:
    """What one machine, or the people at the bench, have to do."""

    station: str
    rows: tuple[tuple[str, str], ...]  # time of day, what
    running: str  # what is in it when the day begins; "" = nothing


def sheets(sheet: DaySheet, stations: Sequence[str], plan: CellPlan, entry: int) -> tuple[str, bytes]:
    """The pages of a day.

    Parameters
    ----------
    stations : sequence of str
        In the order in which their pages follow; those with nothing to do have none.
    entry : int
        Of the plan, so that paper and plan can be matched.

    Returns
    -------
    html : str
        One file that prints a station a page.
    pdf : bytes
        The same on A4; equal input gives equal bytes.
    """
    texts = {
        "day": f"{date.fromisoformat(sheet.day):%A} {sheet.day}",
        "plan": f"plan {entry}, made {plan.now.replace('T', ' ')}; local time of the shop",
        "pages": pages(sheet, stations, plan),
        "keep": KEEP,
        "say": SAY,
    }
    return press.page("stations.html.j2", texts, {}), press.pdf("stations.typ", texts, {})


def pages(sheet: DaySheet, stations: Sequence[str], plan: CellPlan) -> tuple[StationPage, ...]:
    """One page for each station that has something to do."""
    by_station = {name: [task for task in sheet.tasks if task.station == name] for name in stations}
    return tuple(
        StationPage(station=name, rows=tuple(map(_row, tasks)), running=running(plan, name, sheet.day))
        for name, tasks in by_station.items()
        if tasks
    )


def running(plan: CellPlan, station: str, day: str) -> str:
    """Builds that a machine, or a person, is at when a day begins."""
    begin = f"{day}T00:00"
    names = [
        f"{row.order}/{row.build}"
        for row in plan.builds
        for place, begins, ends in (
            (row.printer, row.starts, row.printed),
            (row.oven, row.heated_from, row.heated_to),
            (row.crew, row.bench_from, row.emptied),
            (row.furnace, row.fired_from, row.ready),
        )
        if place == station and begins < begin < ends
    ]
    return ", ".join(names)


def _row(task: DayTask) -> tuple[str, str]:
    return task.at[11:16], task.deed
