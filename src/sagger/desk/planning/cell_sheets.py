"""What the accepted plan of the cell looks like: its week as a picture, a day's sheet for each station."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

import numpy as np

from sagger.desk.home import ledger, write_whole
from sagger.desk.planning.cell_held import accepted, book, card, moment
from sagger.errors import InputError
from sagger.goods.asked import CellPlan
from sagger.goods.stand import machine_names
from sagger.ledger import cellbook
from sagger.stations import schedule
from sagger.views.charts import week
from sagger.views.paper import stations
from sagger.views.words import cell_lines
from sagger.views.words.cell_lines import DaySheet


def week_picture(day: str = "") -> str:
    """The week of a day [ISO] as SVG, as the accepted plan has it; the week of the plan if none is said."""
    made, fixed = accepted(), book().fixed()
    stand, monday = card(made.stand), schedule.monday(moment(day) if day else made.now)
    there = schedule.attended(stand, monday, 1)
    edges = np.flatnonzero(np.diff(np.concatenate(([False], there, [False]))))
    moments = [schedule.written(monday, int(edge)) for edge in edges]
    stretches = list(zip(moments[::2], moments[1::2], strict=True))
    return week.week(made, row_names(made), monday, stretches, fixed)


def monday(day: str, weeks: int = 0) -> str:
    """The Monday of a day's week, or of one some weeks later [ISO date]."""
    at = datetime.fromisoformat(schedule.monday(moment(day))) + timedelta(weeks=weeks)
    return at.date().isoformat()


def row_names(made: CellPlan) -> list[str]:
    """Machines and people of the cell, in the order of its card."""
    stand = card(made.stand)
    return machine_names(stand) + [crew.name for crew in stand.crews]


def day_sheet(day: str) -> DaySheet:
    """What every station does on a day.

    Raises
    ------
    InputError
        If it is no day, or no plan was accepted yet.
    """
    return cell_lines.day_sheet(accepted(), _day(day))


def day_papers(day: str) -> tuple[str, bytes]:
    """The same on paper, one page for each station that has something to do: as a page, and as PDF."""
    held = book()
    sheet = day_sheet(day)
    if not sheet.tasks or held.plan is None:
        what = "nothing begins or ends at any station on this day"
        raise InputError(what, field="day", value=day, remedy="Name a day of the plan.")
    return stations.sheets(sheet, row_names(held.plan), held.plan, held.entry)


def written(day: str, into: Path) -> list[str]:
    """The papers of a day, left in a folder."""
    page, pdf = day_papers(day)
    name = f"day-{_day(day)}"
    write_whole(into / f"{name}.html", page.encode())
    write_whole(into / f"{name}.pdf", pdf)
    return [f"a page for each station: {into / name}.pdf and .html"]


def changed() -> int:
    """Number of the last entry of the book; it says whether anything is to be shown anew."""
    return cellbook.newest(ledger())


def _day(text: str) -> str:
    """ISO date of a day; `InputError` if it is none."""
    try:
        return datetime.fromisoformat(text).date().isoformat()
    except ValueError:
        remedy = "Write it as 2030-01-31."
        raise InputError("a day is an ISO date", field="day", value=text, remedy=remedy) from None
