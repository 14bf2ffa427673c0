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
