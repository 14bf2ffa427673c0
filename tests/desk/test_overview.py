"""What a list of orders tells is worked out once, and a look whether anything is new is quick to answer."""

import json

import pytest

from job_goods import a_job
from sagger.desk.home import ledger
from sagger.desk.planning import overview
from sagger.goods.lot import Lot
from sagger.ledger import bodies, jobs, lots, plans
from sagger.ledger.lots import Mover
from sagger.views import plan as plan_view


@pytest.fixture
def job(tmp_path, monkeypatch):
    """A job that came to a plan."""
    monkeypatch.setenv("SAGGER_HOME", str(tmp_path))
    monkeypatch.delenv("SAGGER_LEDGER_URL", raising=False)
    overview._known.clear(), overview._last.clear()
    book = ledger()
    number = jobs.begin(book, jobs.Beginning("one", "", "out/1", "0", ""))
    kept = bodies.put(book, json.dumps(plan_view.document(a_job(), (), [], {}, "0")))
    jobs.end(book, number, "done", plan_digest=kept)
    return number


def test_what_a_plan_came_to_is_read_from_the_ledger_the_second_time(job, monkeypatch):
    (first,) = overview.orders()
    assert first.outcome.pieces == 4 and first.outcome.total > 0
    overview._known.clear(), overview._last.clear()  # another process, another day
    monkeypatch.setattr(plans, "plan", lambda *given: pytest.fail("the whole plan was read again"))
    (again,) = overview.orders()
    assert again.outcome == first.outcome or str(again.outcome) == str(first.outcome)


def test_a_plan_of_an_edition_that_said_less_has_a_row_without_figures(job):
    book = ledger()
    old = bodies.put(book, json.dumps({"state": "planned"}))
    number = jobs.begin(book, jobs.Beginning("old", "", "out/2", "0", ""))
    jobs.end(book, number, "done", plan_digest=old)
    assert [line.outcome is None for line in overview.orders()] == [True, False]


def test_while_a_job_counts_only_its_own_row_is_made_anew(job, monkeypatch):
    book = ledger()
    number = jobs.begin(book, jobs.Beginning("two", "", "out/2", "0", ""))
    before = overview.orders()
    jobs.tell(book, number, doing="drawing layers", done=3, total=9)
    monkeypatch.setattr(jobs, "listed", lambda *given: pytest.fail("all jobs were read again"))
    counting, settled = overview.orders()
    assert counting.to_do == "drawing layers 3 of 9" and settled is before[1]


def test_the_mark_differs_as_soon_as_the_list_does(job):
    book, seen = ledger(), [overview.mark()]
    assert overview.mark() == seen[0]
    number = jobs.begin(book, jobs.Beginning("two", "", "out/2", "0", ""))
    seen.append(overview.mark())
    jobs.tell(book, number, doing="drawing", done=3, total=9)
    seen.append(overview.mark())
    jobs.end(book, number, "cancelled")
    seen.append(overview.mark())
    lots.receive(book, Lot(name="L", powder="m", origin="received"), 1.0, Mover(person="Ann"))
    seen.append(overview.mark())
    assert len(set(seen)) == 5
