"""A cell at a moment: the plan up to now, and what people said since."""

import pytest

from sagger import cards
from sagger.errors import InputError
from sagger.goods.asked import AskedBuild, AskedOrder, CellEvent
from sagger.goods.schedule import PlanningEffort
from sagger.stations import schedule

FEW = PlanningEffort(trials=400, rounds=0, nodes=0)
STAND = cards.load("stand", "two-printers")
BASE, NOW = "2030-01-07T00:00:00", "2030-01-08T09:00"


def order(name, powder="steel-316l", builds=1, **facts):
    made = tuple(
        AskedBuild(label=str(one + 1), powder=powder, box="box-400x250x250", print_h=20, hands_h=3, shelves=3)
        for one in range(builds)
    )
    return AskedOrder(name=name, builds=made, due="2030-01-18T15:00", **facts)


ORDERS = (order("a", builds=2), order("b", "steel-17-4ph"), order("c", "alumina"))


@pytest.fixture(scope="module")
def rows():
    state = schedule.begun(STAND, ORDERS, (), (), (BASE, "2030-01-07T07:00"), 0)
    found = schedule.plan(state.work, state.stands, FEW)
    return schedule.planned_builds(STAND, state.work, found.schedule, state.names)


def again(rows, *events, orders=ORDERS, kept=0.0):
    """The state at NOW and a plan from it, which passes the checker."""
    state = schedule.begun(STAND, orders, rows, events, (BASE, NOW), kept)
    found = schedule.plan(state.work, state.stands, FEW)
    assert schedule.faults(state.work, found.schedule, state.stands) == ()
    return state, found.schedule, schedule.planned_builds(STAND, state.work, found.schedule, state.names)


def by_name(rows):
    return {(row.order, row.build): row for row in rows}


def test_a_plan_that_nothing_happened_to_is_made_again(rows):
    state, _, made = again(rows)
    begun = {(row.order, row.build) for row in rows if row.starts < NOW}
    assert 2 <= len(begun) == state.stands.printed.sum() < 4
    for name in begun:
        assert by_name(made)[name].starts == by_name(rows)[name].starts


def test_a_print_that_takes_longer_misses_its_heat(rows):
    name = next((row.order, row.build) for row in rows if row.heated_from < NOW)
    _, _, made = again(rows, CellEvent(kind="ended", subject="/".join(name), at="2030-01-09T12:00"))
    row = by_name(made)[name]
    assert row.printed == "2030-01-09T12:00" and row.heated_from >= row.printed


def test_what_is_scrapped_is_printed_again(rows):
    name = (rows[0].order, rows[0].build)
    _, _, made = again(rows, CellEvent(kind="scrapped", subject="/".join(name), at=NOW))
    assert by_name(made)[name].starts >= NOW > rows[0].starts


def test_nothing_begins_on_a_machine_that_is_down(rows):
    until = "2030-01-14T09:00"
    down = CellEvent(kind="down", subject="metal furnace", at=NOW, until=until)
    _, _, made = again(rows, down, kept=48.0)
    fired = [row.fired_from for row in made if row.furnace == "metal furnace"]
    assert fired and all(begins >= until or begins < NOW for begins in fired)


def test_what_runs_is_finished_before_its_machine_counts_as_down(rows):
    """If the print was lost, somebody says so; here nobody did."""
    running = next(row for row in rows if row.starts < NOW < row.printed)
    down = CellEvent(kind="down", subject=running.printer, at=NOW, until="2030-01-16T09:00")
    state, _, made = again(rows, down, kept=48.0)
    assert by_name(made)[running.order, running.build].printed == running.printed
    begins = [schedule.written(BASE, begin) for begin in state.work.blocks.begins]
    assert begins == [running.printed]
    rest = [row.starts for row in made if row.printer == running.printer and row.starts > NOW]
    assert all(starts >= "2030-01-16T09:00" for starts in rest)


def test_what_begins_soon_stays_if_it_can(rows):
    kept, _, made = again(rows, orders=(*ORDERS, order("rush", weight=50)), kept=48.0)
    free, _, _ = again(rows, orders=(*ORDERS, order("rush", weight=50)))
    assert kept.stands.printed.sum() >= free.stands.printed.sum()
    for row in rows:
        if row.starts < "2030-01-10T09:00":
            assert by_name(made)[row.order, row.build].starts == row.starts


def test_a_build_that_the_cell_cannot_print_is_refused():
    with pytest.raises(InputError, match=r"no printer of two-printers prints silica-sand"):
        schedule.workload(STAND, [order("d", "silica-sand")], BASE)


def test_hours_of_the_card():
    """Five shifts of eight hours in the first week."""
    work = schedule.workload(STAND, ORDERS, BASE)
    clock = work.crews.clocks[0]
    assert clock.worked[7 * 96] == 5 * 32
