"""Pages of jobs as a person uses them: two versions of an order whose plans were made by hand."""

import copy
import json

import pytest

from job_goods import a_job
from sagger.desk import uploads
from sagger.desk.home import ledger
from sagger.desk.measuring import approvals
from sagger.desk.planning import drafts, history, runs
from sagger.ledger import bodies, jobs
from sagger.views import plan as plan_view
from visitor import visit

BLOCK = """solid block
facet normal 0 0 0\nouter loop\nvertex 0 0 0\nvertex 0 9 0\nvertex 9 0 0\nendloop\nendfacet
facet normal 0 0 0\nouter loop\nvertex 0 0 0\nvertex 9 0 0\nvertex 0 0 9\nendloop\nendfacet
facet normal 0 0 0\nouter loop\nvertex 0 0 0\nvertex 0 0 9\nvertex 0 9 0\nendloop\nendfacet
facet normal 0 0 0\nouter loop\nvertex 9 0 0\nvertex 0 9 0\nvertex 0 0 9\nendloop\nendfacet
endsolid block
"""
TABLES = {
    "order": {"name": "blocks"},
    "cards": {"powder": "steel-316l", "box": "box-160x65x65"},
    "choices": {"layer": "50 um"},
    "part": [{"file": "block.stl", "unit": "mm", "quantity": 2, "tolerance": "0.5 %"}],
}


@pytest.fixture(scope="module", autouse=True)
def shop(tmp_path_factory):
    """Job 1 plans version 1 for 100 EUR, job 2 version 2 for 112.50; job 3 is at work on version 2."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("SAGGER_HOME", str(tmp_path_factory.mktemp("shop")))
        patch.setenv("NICEGUI_STORAGE_PATH", str(tmp_path_factory.mktemp("bench")))
        patch.delenv("SAGGER_LEDGER_URL", raising=False)
        draft = uploads.begin()
        uploads.place(draft, "block.stl").write_text(BLOCK)
        first = drafts.save(draft, TABLES, "Ann")
        second = drafts.change(first, TABLES | {"choices": {"layer": "60 um"}}, "Ann")
        plan = plan_view.document(a_job(), (), (), {}, "0")
        dearer = copy.deepcopy(plan)
        dearer["quote"]["total"] = 112.5
        for version, document in ((first, plan), (second, dearer)):
            job = jobs.ask(ledger(), "blocks", "", version, "Ann")
            jobs.end(ledger(), job, "done", plan_digest=bodies.put(ledger(), json.dumps(document)))
        at_work = jobs.ask(ledger(), "blocks", "", second, "Ann")
        jobs.take(ledger(), at_work)
        jobs.tell(ledger(), at_work, improving=True, doing="46.1 mm", step="nest")
        yield


@pytest.fixture
def asked(monkeypatch):
    """What the desk is asked to begin or to end; a job waits then, and no process is sent or ended."""
    calls = []

    def ask(version, person):
        calls.append(("ask", version, person))
        return jobs.ask(ledger(), "blocks", "", version, person)

    monkeypatch.setattr(runs, "ask", ask)
    for verb in ("stop", "enough"):
        monkeypatch.setattr(runs, verb, lambda job, verb=verb: calls.append((verb, job)))
    return calls


@pytest.mark.slow
def test_orders_show_what_is_at_work_and_two_versions_stand_side_by_side_in_their_order():
    async def walk(visitor):
        await visitor.open("/")
        await visitor.sees("Under way")
        await visitor.open("/compare?one=1&other=2")
        await visitor.sees("whole order 100.00 EUR 112.50 EUR +12.50 EUR version 1")
        await visitor.sees("layer: 50 µm → 60 µm")
        await visitor.open("/compare?one=2&other=1")
        await visitor.sees("whole order 112.50 EUR 100.00 EUR −12.50 EUR version 1")

    visit(walk)


@pytest.mark.slow
def test_a_job_tells_its_route_its_versions_and_what_changed_and_is_approved():
    async def walk(visitor):
        await visitor.open("/job/2")
        for words in ("blocks, version 2", "Since version 1", "order 112.50 EUR", "whole order +12.50 EUR"):
            await visitor.sees(words)
        visitor.press("Approve for printing")
        await visitor.sees("an approval needs a person")
        visitor.fill({"Approved by": "Ann", "Note": "as it is"})
        visitor.press("Approve for printing")
        await visitor.sees("Print it: the traveller and the layers are ready")

    visit(walk)
    (approval,) = approvals.approvals().values()
    assert (approval.job, approval.person, approval.note) == (2, "Ann", "as it is")


@pytest.mark.slow
def test_a_job_at_work_can_be_stopped_or_taken_as_it_is(asked):
    async def walk(visitor):
        await visitor.open("/job/3")
        await visitor.sees("46.1 mm")
        visitor.press("This height is enough")
        visitor.press("Stop planning")
        while len(asked) < 2:
            await visitor.wait()

    visit(walk)
    assert sorted(asked) == [("enough", 3), ("stop", 3)]


@pytest.mark.slow
def test_the_price_and_the_programmes_are_those_of_the_job():
    async def walk(visitor):
        await visitor.open("/job/2/price")
        await visitor.sees("Whole order: 112.50 EUR")
        await visitor.open("/job/2/programmes")
        await visitor.sees("Oven, box 1")
        await visitor.sees("relative density 97.0 %, standard uncertainty 1.0 %")

    visit(walk)


@pytest.mark.slow
def test_a_change_becomes_a_version_that_is_planned_beside_the_other(asked):
    async def walk(visitor):
        await visitor.open("/job/2/change")
        await visitor.sees("What is kept here becomes version 3")
        visitor.press("Plan this beside the other")
        await visitor.sees("nothing differs from the version before")
        visitor.fill({"layer": "70 um"})
        visitor.press("Plan this beside the other")
        await visitor.sees("layer: 60 µm → 70 µm")

    visit(walk)
    ((verb, version, person),) = asked
    assert (verb, bool(person)) == ("ask", True)
    assert drafts.tables(version)["choices"]["layer"] == "70 um"


@pytest.mark.slow
def test_a_programme_is_changed_by_its_fields_and_kept_with_the_order(asked):
    async def walk(visitor):
        await visitor.open("/job/1/programmes")
        visitor.fill({"set point, held until the last piece is cured": "190 degC"})
        visitor.press("Plan this beside the other")
        await visitor.sees("oven: not set → 190 °C")

    visit(walk)
    assert drafts.tables(asked[0][1])["choices"]["oven"] == "190 degC"
    assert history.order_tables(1)["choices"] == {"layer": "50 um"}
