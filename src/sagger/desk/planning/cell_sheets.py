"""What the accepted plan of the cell looks like: its week as a picture, a day's sheet for each station."""

from __future__ import annotations

import os
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import available_timezones

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
from sagger.views.words import calendars, cell_lines
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


def drawn(day: str, picture: Path) -> list[str]:
    """The week of a day as a file."""
    write_whole(picture, week_picture(day).encode())
    return [f"the week is drawn in {picture}"]


def calendar_written(person: str, zone: str, path: Path) -> list[str]:
    """A calendar as a file."""
    write_whole(path, calendar(person, zone))
    zone = zone or zone_here() or "none: local time wherever it is read"
    return [f"what {person or 'everybody'} does is in {path}; time zone {zone}"]


def calendar(person: str = "", zone: str = "") -> bytes:
    """What people do, for their calendars (RFC 5545).

    Parameters
    ----------
    person : str
        As the card of the cell names people; "" = all of them.
    zone : str
        Time zone of the shop; "" = that of this machine, or none if it names none.

    Raises
    ------
    InputError
        If the cell has no such people, there is no such zone, or no plan was accepted yet.
    """
    made, held = accepted(), book()
    people = [crew.name for crew in card(made.stand).crews]
    if person and person not in people:
        remedy = f"It has: {', '.join(people)}."
        raise InputError("the cell has no such people", field="person", value=person, remedy=remedy)
    if zone and zone not in available_timezones():
        remedy = "Name one of the time zone database, such as Etc/UTC."
        raise InputError("there is no such time zone", field="zone", value=zone, remedy=remedy)
    names = [person] if person else people
    return calendars.calendar(made, held.entry, names, zone or zone_here(), datetime.now(UTC))


def people() -> list[str]:
    """Who works in the cell, as its card names them."""
    return [crew.name for crew in card(accepted().stand).crews]


def zone_here() -> str:
    """Name of the time zone of this machine; "" if it names none."""
    place = os.path.realpath("/etc/localtime").partition("zoneinfo/")[2]
    named = os.environ.get("TZ", place).lstrip(":")
    return named if named in available_timezones() else ""


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
