"""What the page of the cell says, from goods alone."""

import dataclasses

import pytest

from sagger.goods.asked import (
    AskedBuild,
    AskedOrder,
    CellEvent,
    CellOffer,
    CellPlan,
    GivenPromise,
    OfferRow,
    OrderForecast,
    PlannedBuild,
    PromiseScore,
)
from sagger.goods.cell_run import AskedCellRun, CellRun
from sagger.ledger.cellbook import CellBook
from sagger.views.words import cell_lines
from sagger.web.rows import cell as rows

DUE = "2030-01-10T15:00"


def order(name, **facts):
    build = AskedBuild(label="1", powder="p", box="b", print_h=9, hands_h=1, shelves=1)
    return AskedOrder(name=name, builds=(build,), due=DUE, **facts)


def forecast(name, planned="2030-01-10T12:00", in_time=0.97, mates=()):
    return OrderForecast(
        order=name, due=DUE, planned=planned, likely=planned, in_time=in_time, mates=tuple(mates)
    )


def build(name, starts="2030-01-07T08:00"):
    return PlannedBuild(
        order=name,
        build="1",
        powder="p",
        printer="printer 1",
        starts=starts,
        printed="2030-01-07T17:00",
        oven="oven",
        heat=0,
        heated_from="2030-01-08T07:00",
        heated_to="2030-01-08T19:00",
        crew="bench",
        bench_from="2030-01-09T07:00",
        emptied="2030-01-09T08:00",
        ready="2030-01-09T08:00",
    )


def plan(*forecasts, builds=()):
    return CellPlan(
        stand="s",
        now="2030-01-07T07:00",
        seed=1,
        builds=tuple(builds),
        late=1,
        loads=2,
        heats=1,
        cost=30.0,
        bound=20.0,
        bound_by="a bound",
        orders=tuple(forecasts),
    )


def book(orders=(), forecasts=(), events=(), builds=(), promises=()):
    return CellBook(
        orders=tuple(orders),
        events=tuple(events),
        promises=tuple(promises),
        plan=plan(*forecasts, builds=builds) if forecasts else None,
        entry=5 if forecasts else 0,
    )


def happened(kind, subject):
    return CellEvent(kind=kind, subject=subject, at="2030-01-07T09:00")


def test_late_orders_come_first_and_say_so_in_words():
    named = ("fine", "late", "risky", "new")
    forecasts = (
        forecast("fine"),
        forecast("late", "2030-01-12T18:30", 0.0, ["fine", "risky"]),
        forecast("risky", in_time=0.6),
    )
    shown = str(rows.orders(book(map(order, named), forecasts)))
    places = [shown.index(f">{name}<") for name in ("late", "risky", "new", "fine")]
    assert places == sorted(places)
    for words in ("2 d 3.5 h", "fine, risky", "60%", "at risk", "in time", "not planned"):
        assert words in shown


@pytest.mark.parametrize(
    ("planned", "words"),
    [
        (DUE, ""),
        ("2030-01-10T15:15", "0.25 h"),
        ("2030-01-11T15:00", "1 d"),
        ("2030-01-12T14:00", "1 d 23 h"),
    ],
)
def test_lateness_in_days_and_hours(planned, words):
    assert rows.late_by(planned, DUE) == words


def test_a_promise_goes_before_the_due_date():
    held = order("a", promised="2030-01-09T12:00")
    assert rows.standing(held, forecast("a")) == "late"
    assert "Wed 2030-01-09 12:00, promised" in str(rows.orders(book([held], [forecast("a")])))


def test_the_head_says_what_the_plan_does_not_know_yet():
    held = book([order("a"), order("b")], [forecast("a")], [(4, happened("ended", "a/1"))])
    shown = str(rows.head(held, "EUR"))
    assert "not planned yet: b" in shown and "Plan anew" in shown and "a/1 ended" not in shown
    held = book([order("a")], [forecast("a")], [(6, happened("scrapped", "a/1"))])
    assert "1 order late" in str(rows.head(held, "EUR"))
    assert "since this plan: a/1 scrapped, Mon 2030-01-07 09:00" in str(rows.head(held, "EUR"))
    assert "Plan anew" not in str(rows.head(book([order("a")], [forecast("a")]), "EUR"))
    held = book([order("a")], [forecast("a")], [(6, happened("fixed", "a/1"))])
    shown = str(rows.head(held, "EUR"))
    assert "fixed until freed: a/1" in shown and "Plan anew" not in shown


@pytest.mark.parametrize(
    ("facts", "words"),
    [
        ({"done": 1, "total": 4, "doing": "moving builds"}, ("0.250", "plan for Ann: moving builds")),
        ({"state": "done", "entry": 7}, ("accepted", "as entry 7")),
        (
            {"state": "failed", "message": "another"},
            ("not accepted", "nothing of the book is lost", "another"),
        ),
        ({"state": "cancelled"}, ("stopped", "the plan before it holds")),
    ],
)
def test_how_a_plan_in_the_background_stands(facts, words):
    asked = AskedCellRun(person="Ann", note="", at="", better=False)
    shown = str(rows.run(CellRun(asked=asked, began="2030-01-07T08:00", **facts)))
    assert all(word in shown for word in words)


def test_what_state_a_build_is_in():
    one, later = build("a"), build("b", "2030-01-08T08:00")
    now = "2030-01-07T09:00"
    held = book(map(order, "ab"), [forecast("a")], builds=(one, later))
    assert [rows.build_state(row, held, now) for row in (one, later)] == ["begun", "free"]
    fixed = dataclasses.replace(held, events=((3, happened("fixed", "b/1")),))
    assert rows.build_state(later, fixed, now) == "fixed"
    scrapped = dataclasses.replace(
        held, events=((3, happened("fixed", "b/1")), (6, happened("scrapped", "b/1")))
    )
    assert rows.build_state(later, scrapped, now) == "scrapped"


def test_the_builds_of_a_week():
    one = build("a")
    made = plan(builds=(one, build("b", "2030-01-20T08:00")))
    assert rows.builds_of(made, "2030-01-07") == [one]
    assert rows.builds_of(made, "2030-01-14") == []
    assert rows.build_cells(one)[3] == "Mon 07, 08:00"


def test_a_day_by_station_and_the_papers_of_it():
    sheet = cell_lines.day_sheet(plan(builds=(build("a"),)), "2030-01-07")
    shown = str(rows.day(sheet, ["printer 1", "oven"]))
    assert "start a/1 in p" in shown and "oven" not in shown
    assert 'href="/files/cell/day/2030-01-07.pdf"' in str(rows.papers("2030-01-07", len(sheet.tasks)))
    assert "Nothing begins or ends" in str(rows.day(cell_lines.day_sheet(plan(), "2030-01-07"), ["oven"]))
    assert rows.papers("2030-01-07", 0) == ""


def test_an_offer_is_a_table_of_patience():
    row = OfferRow(way="at once", planned=DUE, by=DUE, chance=0.9, new_loads=1, new_heats=0, added=1234.4)
    made = CellOffer(order="rush", now=DUE, rests_on=5, currency="EUR", rows=(row,))
    shown = str(rows.offer(made))
    for words in ("What rush would get", "at once", "+1", "+0", "+1,234", "EUR added", "plan 5"):
        assert words in shown


def test_promises_with_what_became_of_them():
    given = [
        GivenPromise(order=name, by=DUE, chance=0.9, given="2030-01-01T09:00")
        for name in ("met", "open", "soon")
    ]
    score = PromiseScore(
        order="met",
        by=DUE,
        chance=0.9,
        given="2030-01-01T09:00",
        delivered="2030-01-10T09:00",
        met=True,
        weeks_ahead=1,
    )
    made = plan(forecast("soon", "2030-01-11T12:00"), forecast("open"))
    shown = str(rows.promises(given, [score], made))
    assert "met, Thu 2030-01-10 09:00" in shown and "planned later than that" in shown and ">open<" in shown
    assert "1 weeks ahead: 1 of 1 promises met" in shown
    assert "No customer" in str(rows.promises([], [], None))


def test_nothing_is_said_any_more_of_an_order_that_is_gone():
    held = book(map(order, "ab"), events=[(2, happened("delivered", "a"))])
    assert rows.open_subjects(["a/1", "b/1"], "ended", held) == ["b/1"]
    assert rows.open_subjects(["a", "b"], "delivered", held) == ["b"]
    assert rows.open_subjects(["printer 1"], "down", held) == ["printer 1"]


def test_names_of_orders_are_text_and_nothing_else():
    assert "<b>" not in str(rows.orders(book([order("<b>")], [forecast("<b>")])))


def test_a_calendar_for_each_kind_of_people():
    shown = str(rows.calendars(["day & night", "bench"]))
    assert 'href="/files/cell/calendar.ics?person=day%20%26%20night"' in shown and "Calendar of all" in shown
    assert "Calendar of all" not in str(rows.calendars(["bench"]))
