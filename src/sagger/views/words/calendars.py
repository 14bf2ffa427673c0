"""What people of the cell do as a calendar that their own programs read (RFC 5545)."""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Iterator, Sequence
from datetime import UTC, datetime, timedelta
from typing import NamedTuple
from zoneinfo import ZoneInfo

from sagger.goods.asked import CellPlan, PlannedBuild

PRODUCT = "-//Sagger//plan of a cell//EN"
STARTING = timedelta(minutes=15)  # the quarter hour in which somebody starts a machine
NAMES = uuid.UUID("6b1f9d0e-4a57-5d0c-9a2e-0c6f3e5b7a11")  # under which names of steps become identifiers


class CalendarEntry(NamedTuple):
    """Something to be done. Moments are ISO, local time of the shop."""

    name: str  # of the step, once in the cell: it keeps its identifier when it moves
    begins: str
    ends: str
    words: str
    where: str
    blocks: bool  # somebody's time: bench work does, starting a machine is anybody's


def calendar(plan: CellPlan, entry: int, people: Sequence[str], zone: str, stamped: datetime) -> bytes:
    """Bench work of some people, and the starts of machines, which whoever is there sees to.

    Parameters
    ----------
    entry : int
        Of the plan; a later plan of the same step replaces it in a calendar.
    people : sequence of str
        As the card names them.
    zone : str
        Of the shop, a name of the time zone database; "" = times without one, local wherever they are read.
    stamped : datetime
        When the calendar is made, with its zone.

    Source
    ------
    RFC 5545: lines of 75 octets at most, ended by CR and LF; UID and DTSTAMP in every event; a VTIMEZONE for
    every zone that is named.
    """
    import icalendar

    made = icalendar.Calendar()
    made.add("prodid", PRODUCT)
    made.add("version", "2.0")
    for task in entries(plan.builds, people):
        event = icalendar.Event()
        event.add("uid", str(uuid.uuid5(NAMES, task.name)))
        event.add("dtstamp", stamped.astimezone(UTC))
        event.add("dtstart", _moment(task.begins, zone))
        event.add("dtend", _moment(task.ends, zone))
        event.add("summary", task.words)
        event.add("location", task.where)
        event.add("sequence", entry)
        event.add("transp", "OPAQUE" if task.blocks else "TRANSPARENT")
        made.add_component(event)
    made.add_missing_timezones()
    return bytes(made.to_ical())


def entries(builds: Sequence[PlannedBuild], people: Sequence[str]) -> list[CalendarEntry]:
    """All that is to be done, by its begin."""
    return sorted([*_bench(builds, people), *_starts(builds)], key=lambda task: (task.begins, task.name))


def _bench(builds: Iterable[PlannedBuild], people: Sequence[str]) -> Iterator[CalendarEntry]:
    for row in builds:
        if row.crew in people:
            name = f"{row.order}/{row.build}"
            words = f"empty the box of {name}"
            yield CalendarEntry(f"bench of {name}", row.bench_from, row.emptied, words, row.crew, True)


def _starts(builds: Iterable[PlannedBuild]) -> Iterator[CalendarEntry]:
    """Prints one by one; a heat or a load once, with all that is in it."""
    batches: dict[tuple[str, str, str], list[str]] = {}
    for row in builds:
        name = f"{row.order}/{row.build}"
        words = f"start {name} in {row.powder}"
        yield _start(f"print of {name}", row.starts, words, row.printer)
        batches.setdefault(("heat", row.oven, row.heated_from), []).append(name)
        if row.load >= 0:
            batches.setdefault(("load", row.furnace, row.fired_from), []).append(name)
    for (kind, machine, begins), names in batches.items():
        yield _start(f"{kind} of {min(names)}", begins, f"start the {kind} of {', '.join(names)}", machine)


def _start(name: str, begins: str, words: str, machine: str) -> CalendarEntry:
    ends = (datetime.fromisoformat(begins) + STARTING).isoformat(timespec="minutes")
    return CalendarEntry(name, begins, ends, words, machine, False)


def _moment(text: str, zone: str) -> datetime:
    at = datetime.fromisoformat(text)
    return at.replace(tzinfo=ZoneInfo(zone)) if zone else at
