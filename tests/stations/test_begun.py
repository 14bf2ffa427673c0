"""A cell at a moment: the plan up to now, and what people said since."""

import dataclasses

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


def later_than_now(rows):
    return max((row for row in rows if row.starts > NOW), key=lambda row: row.starts)


def fixed(row):
    return CellEvent(kind="fixed", subject=f"{row.order}/{row.build}", at=NOW)


def test_a_fixed_build_stays_where_it_is_whatever_else_comes(rows):
    """Without it an urgent order that needs the same printer goes first."""
    last = later_than_now(rows)
    rush = order("rush", last.powder, weight=200, builds=2)
    state, _, made = again(rows, fixed(last), orders=(*ORDERS, rush))
    name = (last.order, last.build)
    assert places(by_name(made)[name]) == places(last)
    assert [state.names[build] for build in state.stands.fixed.nonzero()[0]] == [name]
    _, _, free = again(rows, orders=(*ORDERS, rush))
    assert places(by_name(free)[name]) != places(last)


def places(row):
    return {key: getattr(row, key) for key in STEPS}


STEPS = ("printer", "starts", "oven", "heated_from", "crew", "bench_from", "furnace", "fired_from")
FLAGS = ("printed", "heated", "emptied", "fired")


@pytest.mark.parametrize("step", ["start", "printer", "bench", "heats", "loads"])
def test_the_checker_finds_a_fixed_build_that_was_moved(rows, step):
    """The check of what is fixed says it alone: here no step is said to be begun."""
    last = later_than_now(rows)
    state, found, _ = again(rows, fixed(last))
    build = state.names.index((last.order, last.build))
    none = {flags: getattr(state.stands, flags) & False for flags in FLAGS}
    stands = dataclasses.replace(state.stands, **none)
    wrong = f"build {build} is fixed and has moved"
    assert wrong not in schedule.faults(state.work, found, stands)
    if step in ("heats", "loads"):
        runs = getattr(found, step)
        moved = dataclasses.replace(runs, start=runs.start + 1)
    else:
        moved = getattr(found, step).copy()
        moved[build] += -1 if moved[build] else 1
    assert wrong in schedule.faults(state.work, dataclasses.replace(found, **{step: moved}), stands)


def test_a_fixed_build_keeps_the_limits_that_lie_ahead(rows):
    """What is begun is a fact; what is only fixed may not begin where nobody is there."""
    last = later_than_now(rows)
    state, found, _ = again(rows, fixed(last))
    build = state.names.index((last.order, last.build))
    closed = state.work.printers.starts.copy()
    closed[found.start[build]] += 4
    printers = dataclasses.replace(state.work.printers, starts=closed)
    work = dataclasses.replace(state.work, printers=printers)
    assert f"print {build} starts while nobody is there" in schedule.faults(work, found, state.stands)


def test_a_fixed_build_on_a_machine_that_goes_down_is_planned_anew(rows):
    last = later_than_now(rows)
    down = CellEvent(kind="down", subject=last.printer, at=NOW, until="2030-01-28T09:00")
    state, _, made = again(rows, fixed(last), down)
    row = by_name(made)[last.order, last.build]
    assert not state.stands.fixed.any()
    assert row.printer != last.printer or row.starts >= "2030-01-28T09:00"
