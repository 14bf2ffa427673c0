"""The cell at the command line: booked, planned, promised, a breakdown, a rush order, scored."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from sagger.cli import sagger
from sagger.desk.planning import cell
from sagger.errors import LedgerError, OrderError, SaggerError, StopError
from sagger.ledger import cellbook, entries
from sagger.ledger.lots import Mover

ORDERS = Path(__file__).parents[2] / "examples" / "cell-orders.csv"
HEADING = "order,powder,box,print_h,hands_h,shelves,due\n"
RUSH = HEADING + "sample ring,steel-316l,box-160x65x65,7,1,1,2030-01-11T15:00\n"


@pytest.fixture
def say(tmp_path, monkeypatch):
    monkeypatch.setenv("SAGGER_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("SAGGER_PERSON", "A. Planner")

    def said(*words):
        outcome = CliRunner().invoke(sagger, ["cell", *words])
        if isinstance(outcome.exception, SaggerError):
            raise outcome.exception
        assert outcome.exit_code == 0, outcome.output
        return outcome.stdout

    return said


@pytest.fixture
def planned(say):
    assert "7 orders, 11 builds" in say("book", str(ORDERS))
    say("plan", "--now", "2030-01-07T07:00")
    return say


def plan_of(say):
    return json.loads(say("show", "--json"))


@pytest.mark.slow
def test_a_plan_tells_every_order_with_its_date_and_risk(planned):
    text, plan = planned("show"), plan_of(planned)
    assert "11 builds of 7 orders" in text and "pump levers" in text and "waits for" in text
    assert plan["schema"] == "sagger-cell-plan/1" and plan["cost"] >= plan["bound"] > 0
    for row in plan["orders"]:
        ready = max(build["ready"] for build in plan["builds"] if build["order"] == row["order"])
        assert row["planned"] == ready <= row["likely"]
        assert (row["in_time"] >= 0.9) == (row["likely"] <= row["due"])


def test_the_sheet_of_a_day_says_what_each_station_does(planned):
    plan = plan_of(planned)
    first = min(plan["builds"], key=lambda row: row["starts"])
    text = planned("show", "--day", first["starts"][:10])
    name = f"{first['order']}/{first['build']}"
    assert f"{first['starts'][11:]}  start {name} in {first['powder']}" in text
    heated = min(plan["builds"], key=lambda row: row["heated_from"])
    sheet = json.loads(planned("show", "--day", heated["heated_from"][:10], "--json"))
    deeds = [task["deed"] for task in sheet["tasks"] if task["station"] == "oven"]
    assert any(f"{heated['order']}/{heated['build']}" in deed for deed in deeds)
    assert "nothing begins or ends" in planned("show", "--day", "2031-01-01")


@pytest.mark.slow
def test_an_offer_reserves_nothing_and_moves_nobody_who_was_promised(planned, tmp_path):
    table = tmp_path / "rush.csv"
    table.write_text(RUSH)
    planned("promise", "gear blanks", "2030-01-14T12:00")
    before = plan_of(planned)
    offer = json.loads(planned("offer", str(table), "--now", "2030-01-08T09:00", "--json"))
    assert plan_of(planned) == before and len(cell.book().orders) == 7
    assert all(row["planned"] <= row["by"] for row in offer["rows"]) and offer["rests_on"] == 2
    at_once, *patient = offer["rows"][:4]
    assert all(row["added"] <= at_once["added"] for row in patient)
    assert "it rests on plan 2 and reserves nothing" in planned(
        "offer", str(table), "--now", "2030-01-08T09:00"
    )


@pytest.mark.slow
def test_a_breakdown_and_a_scrapped_build_are_planned_around_and_promises_scored(planned):
    planned("promise", "gear blanks", "2030-01-14T12:00", "--now", "2030-01-07T08:00")
    planned("event", "down", "printer 1", "--at", "2030-01-08T08:00", "--until", "2030-01-10T12:00")
    planned("event", "scrapped", "gear blanks/1", "--at", "2030-01-08T08:00")
    planned("plan", "--now", "2030-01-08T09:00")
    for row in plan_of(planned)["builds"]:
        if row["printer"] == "printer 1":
            assert not "2030-01-08T09:00" <= row["starts"] < "2030-01-10T12:00"
    again = next(row for row in plan_of(planned)["builds"] if row["order"] == "gear blanks")
    assert again["starts"] >= "2030-01-08T09:00"
    planned("event", "delivered", "gear blanks", "--at", "2030-01-15T09:00")
    assert "1 weeks ahead: 0 of 1 promises met" in planned("show", "--scores")
    assert entries.check(cell.ledger()).entries == 7


def test_of_two_planners_the_second_plans_again(planned):
    held = cell.book()
    step = Mover(person="B. Planner", note="", corrects=None)
    cellbook.accept(cell.ledger(), held.plan, held.entry, step)
    with pytest.raises(LedgerError, match="another plan was accepted meanwhile"):
        cellbook.accept(cell.ledger(), held.plan, held.entry, step)


@pytest.mark.parametrize(
    ("line", "refusal"),
    [
        ("a,steel-316l,box-160x65x65,long,1,1,2030-01-11T15:00", r"line 2, column print_h: a number"),
        ("a,steel-316l,box-160x65x65,7,1,1.5,2030-01-11T15:00", r"column shelves: a whole number"),
        ("a,steel-316l,box-160x65x65,7,1,1,soon", r"column due: an ISO date"),
        ("a/b,steel-316l,box-160x65x65,7,1,1,2030-01-11T15:00", r"without a slash"),
    ],
)
def test_a_wrong_line_is_refused_with_its_place(say, tmp_path, line, refusal):
    table = tmp_path / "orders.csv"
    table.write_text(HEADING + line + "\n")
    with pytest.raises(OrderError, match=refusal):
        say("book", str(table))


def test_names_that_the_book_does_not_know_are_refused(planned):
    for words in (("scrapped", "gear blanks/9"), ("down", "printer 9"), ("delivered", "gears")):
        with pytest.raises(SaggerError, match="the book knows nothing of this name"):
            planned("event", *words)
    with pytest.raises(SaggerError, match="an order of that name is booked"):
        planned("book", str(ORDERS))


def test_what_the_furnace_never_can_fire_stops_the_plan(say, tmp_path):
    table = tmp_path / "orders.csv"
    table.write_text(HEADING + "a,steel-316l,box-160x65x65,7,1,99,2030-01-11T15:00\n")
    say("book", str(table))
    with pytest.raises(StopError, match="no furnace fires its family with room for it"):
        say("plan", "--now", "2030-01-07T07:00")


def test_the_week_is_drawn(planned, tmp_path):
    picture = tmp_path / "week.svg"
    planned("show", "--picture", str(picture))
    drawn = picture.read_text()
    assert "the week of 2030-01-07" in drawn and "bench (2)" in drawn and "job box (3)" in drawn
    assert "2030-01-14" in cell.week_picture("2030-01-16T09:00")


def place(say, name):
    row = next(row for row in plan_of(say)["builds"] if f"{row['order']}/{row['build']}" == name)
    return {
        key: row[key] for key in ("printer", "starts", "heated_from", "bench_from", "fired_from", "ready")
    }


@pytest.mark.slow
def test_a_fixed_build_stays_in_later_plans_until_it_is_freed(planned, tmp_path):
    was = place(planned, "brackets/1")
    assert "brackets/1 fixed" in planned("event", "fixed", "brackets/1", "--at", "2030-01-07T08:00")
    table = tmp_path / "rush.csv"
    table.write_text(HEADING.replace("due", "due,weight") + urgent("steel-17-4ph", was["starts"]))
    planned("book", str(table))
    for now in ("2030-01-07T09:00", "2030-01-07T10:00"):
        planned("plan", "--now", now)
        assert place(planned, "brackets/1") == was
    assert "fixed until freed: brackets/1" in planned("show")
    planned("event", "freed", "brackets/1", "--at", "2030-01-07T11:00")
    assert "fixed until freed" not in planned("show")
    planned("plan", "--now", "2030-01-07T11:00")
    assert place(planned, "brackets/1") != was


def urgent(powder, due):
    """Orders that must be ready at once, in the way of whatever is printed in the same box."""
    lines = (f"rush {n},{powder},box-400x250x250,20,3,2,{due},90" for n in range(2))
    return "\n".join(lines) + "\n"


@pytest.mark.slow
def test_a_fixed_build_that_cannot_stay_is_told(planned):
    was = place(planned, "brackets/1")
    planned("event", "fixed", "brackets/1", "--at", "2030-01-07T08:00")
    planned("event", "down", was["printer"], "--at", "2030-01-07T08:00", "--until", "2030-01-28T12:00")
    said = planned("plan", "--now", "2030-01-07T09:00")
    assert f"brackets/1 is fixed and could not stay: it began {was['starts'].replace('T', ' ')}" in said


def test_only_what_has_a_place_is_fixed_and_only_what_is_fixed_is_freed(say):
    say("book", str(ORDERS))
    with pytest.raises(SaggerError, match="has no place in the plan yet"):
        say("event", "fixed", "brackets/1")
    with pytest.raises(SaggerError, match="this build is not fixed"):
        say("event", "freed", "brackets/1")
    say("plan", "--now", "2030-01-07T07:00")
    say("event", "fixed", "brackets/1")
    with pytest.raises(SaggerError, match="fixed already"):
        say("event", "fixed", "brackets/1", "--note", "again")
    say("event", "scrapped", "brackets/1", "--at", "2030-01-07T08:00")
    assert cell.book().fixed() == ()
    with pytest.raises(SaggerError, match="has no place in the plan yet"):
        say("event", "fixed", "brackets/1", "--note", "again")


@pytest.mark.slow
def test_a_fixed_build_takes_as_long_as_it_takes(planned):
    """Fixing says where it goes, not that all goes as planned: nobody's date changes by it."""
    planned("plan", "--now", "2030-01-07T07:00")
    before = plan_of(planned)
    planned("event", "fixed", "gear blanks/1", "--at", "2030-01-07T07:00")
    planned("plan", "--now", "2030-01-07T07:00")
    after = plan_of(planned)
    assert [row["planned"] for row in after["orders"]] == [row["planned"] for row in before["orders"]]
    for row, was in zip(after["orders"], before["orders"], strict=True):
        assert row["likely"] == was["likely"] and abs(row["in_time"] - was["in_time"]) < 0.02


def test_papers_and_a_calendar_are_written(planned, tmp_path):
    said = planned("show", "--day", "2030-01-08", "--into", str(tmp_path))
    assert "a page for each station" in said
    assert (tmp_path / "day-2030-01-08.pdf").read_bytes().startswith(b"%PDF")
    assert "<h1>oven</h1>" in (tmp_path / "day-2030-01-08.html").read_text()
    path = tmp_path / "bench.ics"
    zoned = ("--person", "bench", "--zone", "Etc/UTC")
    assert "time zone Etc/UTC" in planned("show", "--calendar", str(path), *zoned)
    calendar = path.read_text()
    assert calendar.startswith("BEGIN:VCALENDAR") and calendar.count("SUMMARY:empty the box") == 11
    for words, refusal in (
        (("--person", "nobody"), "the cell has no such people.*bench"),
        (("--zone", "Nowhere"), "no such time zone"),
    ):
        with pytest.raises(SaggerError, match=refusal):
            planned("show", "--calendar", str(path), *words)
    with pytest.raises(SaggerError, match="nothing begins or ends"):
        planned("show", "--day", "2031-01-01", "--into", str(tmp_path))
    with pytest.raises(SaggerError, match="a day is an ISO date"):
        planned("show", "--day", "soon", "--into", str(tmp_path))
