"""A plan of the cell in the background: one at a time, stopped, taken as it is, or refused; none is lost."""

import time

import pytest

from cell_shop import NOW, STEP, booked
from sagger.desk.planning import cell, cell_runs
from sagger.errors import InputError
from sagger.goods.cell_run import AskedCellRun

pytestmark = pytest.mark.slow


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("SAGGER_HOME", str(tmp_path))
    monkeypatch.delenv("SAGGER_LEDGER_URL", raising=False)
    booked()
    yield tmp_path
    cell_runs.stop()


def asked(person="Ann", *, better=False, at=NOW):
    return cell_runs.begin(AskedCellRun(person=person, note="", at=at, better=better))


def ended(patience=60):
    until = time.monotonic() + patience
    while time.monotonic() < until:
        run = cell_runs.newest()
        if run.state != "running":
            return run
        time.sleep(0.05)
    raise AssertionError(run)


def improving(patience=60):
    until = time.monotonic() + patience
    while time.monotonic() < until:
        if cell_runs.newest().improving:
            return
        time.sleep(0.02)
    raise AssertionError(cell_runs.newest())


def test_a_plan_is_made_and_accepted_in_the_name_of_who_asked():
    assert asked().state == "running"
    run = ended()
    assert (run.state, run.entry) == ("done", cell.book().entry) and run.entry > 0
    assert len(cell.book().plan.orders) == 7


def test_a_second_one_at_the_same_time_is_told_by_whom_the_first_was_asked():
    asked("Ann", better=True)
    with pytest.raises(InputError, match=r"the cell is being planned by Ann since .*Wait for that plan"):
        asked("Bea")
    assert cell_runs.newest().asked.person == "Ann"


def test_a_better_plan_is_stopped_and_nothing_was_accepted():
    asked(better=True)
    improving()
    cell_runs.stop()
    assert cell_runs.newest().state == "cancelled"
    assert cell.book().plan is None
    asked()
    assert ended().state == "done"


def test_the_best_so_far_is_taken_when_a_person_says_so():
    asked(better=True)
    improving()
    cell_runs.enough()
    assert ended(30).state == "done"
    with pytest.raises(InputError, match="no better plan is being looked for"):
        cell_runs.enough()


def test_of_two_planners_the_second_is_told_and_the_first_plan_holds():
    asked("Ann", better=True)
    improving()
    entry, _ = cell.plan(NOW, cell.FIRST, STEP)
    cell_runs.enough()
    run = ended(30)
    assert run.state == "failed"
    assert f"another plan was accepted meanwhile (entry {entry}); plan again" in run.message
    assert cell.book().entry == entry


def test_a_process_that_vanished_is_interrupted_and_the_next_one_begins(home):
    asked(better=True)
    improving()
    cell_runs._kill(9)
    assert ended().state == "interrupted"
    asked()
    assert ended().state == "done"


def test_what_cannot_be_planned_is_told_in_its_words():
    asked(at="2030-01-07T07:00")
    ended()
    with pytest.raises(InputError, match="a moment is an ISO date and time"):
        asked(at="soon")
    with pytest.raises(InputError, match="needs a person"):
        asked(" ")
