"""Calendars of the people of a cell, read back, and held against the rules of RFC 5545 by hand."""

import re
from datetime import UTC, datetime, timedelta

import icalendar
import pytest

from sagger.goods.asked import CellPlan, PlannedBuild
from sagger.views.words import calendars

STAMP = datetime(2030, 1, 7, 6, tzinfo=UTC)
LONG = "levers, 40 mm; left \\ right – of a customer with a long name that does not fit into one line"


def build(label="1", crew="bench", starts="2030-01-07T08:00", **facts):
    known = dict(
        order=LONG,
        build=label,
        powder="steel",
        printer="printer 1",
        starts=starts,
        printed="2030-01-08T03:00",
        oven="oven",
        heat=0,
        heated_from="2030-01-08T07:00",
        heated_to="2030-01-08T19:00",
        crew=crew,
        bench_from="2030-01-09T07:00",
        emptied="2030-01-09T10:00",
        ready="2030-01-09T10:00",
    )
    return PlannedBuild(**(known | facts))


def plan(*builds):
    return CellPlan(
        stand="s",
        now="2030-01-07T07:00",
        seed=1,
        builds=builds,
        late=0,
        loads=0,
        heats=1,
        cost=1.0,
        bound=1.0,
        bound_by="",
        orders=(),
    )


def made(*builds, entry=4, people=("bench",), zone="Europe/Berlin"):
    return calendars.calendar(plan(*builds), entry, people, zone, STAMP)


def events(text):
    return {str(event["summary"]): event for event in icalendar.Calendar.from_ical(text).walk("VEVENT")}


def test_it_is_read_back_as_it_was_planned():
    read = events(made(build()))
    assert len(read) == 3
    bench = read[f"empty the box of {LONG}/1"]
    assert bench.decoded("dtstart").isoformat() == "2030-01-09T07:00:00+01:00"
    assert bench.decoded("dtend") - bench.decoded("dtstart") == timedelta(hours=3)
    assert (str(bench["location"]), str(bench["transp"])) == ("bench", "OPAQUE")
    start = read[f"start the heat of {LONG}/1"]
    assert str(start["transp"]) == "TRANSPARENT" and str(start["location"]) == "oven"


def test_lines_are_folded_at_75_octets_and_end_with_cr_lf():
    """RFC 5545, 3.1."""
    text = made(build())
    lines = text.split(b"\r\n")
    assert lines.pop() == b"" and b"\n" not in text.replace(b"\r\n", b"")
    assert max(map(len, lines)) <= 75
    assert any(line.startswith(b" ") for line in lines)


def test_commas_semicolons_and_backslashes_are_escaped():
    """RFC 5545, 3.3.11."""
    unfolded = made(build()).decode().replace("\r\n ", "")
    assert r"empty the box of levers\, 40 mm\; left \\ right" in unfolded


def test_every_event_says_who_it_is_and_when_it_was_stamped():
    """RFC 5545, 3.6.1: UID and DTSTAMP once each, DTSTAMP in UTC."""
    parts = made(build(), build("2")).decode().split("BEGIN:VEVENT")[1:]
    for part in parts:
        assert len(re.findall(r"^UID:[0-9a-f-]{36}\r$", part, re.M)) == 1
        assert re.findall(r"^DTSTAMP:(.*)\r$", part, re.M) == ["20300107T060000Z"]
    uids = re.findall(r"^UID:(.*)\r$", made(build(), build("2")).decode(), re.M)
    assert len(uids) == len(set(uids)) == 5  # two prints, two at the bench, one heat


def test_what_moves_keeps_its_identifier_and_counts_on():
    name = f"start {LONG}/1 in steel"
    before, after = events(made(build()))[name], events(made(build(starts="2030-01-07T10:00"), entry=9))[name]
    assert before["uid"] == after["uid"] and after["sequence"] == 9 > before["sequence"]
    assert after.decoded("dtstart") - before.decoded("dtstart") == timedelta(hours=2)


@pytest.mark.parametrize(("day", "offset"), [("2030-03-29", 1), ("2030-04-01", 2)])
def test_the_zone_is_told_with_its_summer_time(day, offset):
    """RFC 5545, 3.6.5: a VTIMEZONE for each TZID. The clocks of that zone change on 31 March 2030."""
    text = made(build(bench_from=f"{day}T07:00", emptied=f"{day}T09:00"))
    assert b"BEGIN:VTIMEZONE" in text and b"TZID:Europe/Berlin" in text
    bench = events(text)[f"empty the box of {LONG}/1"]
    assert bench.decoded("dtstart").utcoffset() == timedelta(hours=offset)
    assert b"DTSTART;TZID=Europe/Berlin:" + day.replace("-", "").encode() + b"T070000" in text


def test_without_a_zone_times_are_local_wherever_they_are_read():
    """RFC 5545, 3.3.5, form 1."""
    text = made(build(), zone="")
    assert b"DTSTART:20300109T070000\r\n" in text and b"TZID" not in text


def test_bench_work_is_only_of_those_who_do_it():
    text = made(build(), build("2", crew="finishers"), people=("finishers",))
    assert f"empty the box of {LONG}/2" in events(text) and f"empty the box of {LONG}/1" not in events(text)
    assert f"start the heat of {LONG}/1, {LONG}/2" in events(text)
