"""The page of one job: its route, what to decide, what was changed, its files and versions."""

from dataclasses import replace

import pytest

from page_text import facts, links, table, words
from records import job_record
from sagger.goods.planned import PlanFinding
from sagger.goods.record import VersionRecord
from sagger.views.words.decide import Decision
from sagger.views.words.route import route
from sagger.web.rows import job as rows
from sagger.web.rows.job import ComparedJob

NOTICED = PlanFinding(
    level="look", what="thin wall", text="0.3 mm at `edge`.", remedy="Thicken it.", source="card, card",
    part=1, station="intake",
)  # fmt: skip


def version(number, thread=1, changes=()):
    return VersionRecord(
        id=10 + number, thread=thread, number=number, parent=None, name="lever", folder="", changes=changes,
        person="Ann", made="",
    )  # fmt: skip


def planned(job, plan, of=None, **tables):
    return ComparedJob(job=job, version=of, tables=tables, plan=plan)


def legs(plan, **job):
    return route(job_record(**job), True, plan)


def test_the_title_names_the_version_where_there_is_one():
    assert rows.title(job_record(name="lever"), version(2)) == "lever, version 2"
    assert rows.title(job_record(name="lever"), None) == "lever"


def test_the_route_leads_to_the_page_of_each_step(plan):
    content = rows.route(7, legs(plan), plan)
    assert links(content)["see the box"] == "/job/7/bed"
    assert links(content)["see the price"] == "/job/7/price"
    assert str(content).count('class="leg ') == len(legs(plan))


def test_parts_can_be_seen_where_intake_stopped_the_job_and_nothing_else(altered):
    refused = altered("refused", "state")
    steps = {leg.room: rows.page_of(leg, refused) for leg in legs(refused)}
    assert steps.pop("intake") == ("part", "see the parts")
    assert set(steps.values()) == {None}
    assert {rows.page_of(leg, None) for leg in legs(None, state="running")} == {None}


def test_a_step_at_work_has_a_bar_as_long_as_its_share():
    running = legs(None, state="running", step="cure", doing="heating", done=30, total=120)
    content = str(rows.route(7, running, None))
    assert 'value="0.250"' in content
    assert content.count("<progress") == 1
    assert "heating, 30 of 120" in words(content)


def test_a_finding_names_its_part_and_each_source_once(plan):
    said = words(rows.finding(NOTICED, rows.part_names(plan)))
    assert said == "B part-1: 0.3 mm at edge . Thicken it. (card)"
    named = rows.finding(replace(NOTICED, text="part-1, x = 20 mm"), rows.part_names(plan))
    assert words(named).startswith("B part-1, x = 20 mm Thicken it.")
    assert words(rows.finding(replace(NOTICED, part=None, source=""), [])) == "0.3 mm at edge . Thicken it."


def test_of_several_findings_of_a_kind_the_first_is_told_and_what_differs_is_one_step_away():
    alike = [NOTICED, NOTICED, replace(NOTICED, part=0)]
    content = rows.findings(alike, [("A", "lever"), ("B", "clamp")])
    assert "1 more like it" in words(content)
    assert words(content).startswith("thin wall : B clamp: 0.3 mm")
    assert "more like it" not in words(rows.findings([NOTICED, NOTICED], [("A", "lever"), ("B", "clamp")]))


def test_what_to_decide_and_why_are_told():
    asks = Decision("Change it: thin wall", "See `order.toml`.", ("change",), True)
    assert words(rows.decision(asks)) == "Change it: thin wall See order.toml ."


def test_a_nest_that_only_becomes_better_tells_its_height():
    pressing = {"state": "running", "improving": True, "doing": "46.1 mm"}
    assert words(rows.height(job_record(**pressing))) == "46.1 mm"
    assert "enough" in words(rows.height(job_record(**pressing, enough=True)))
    assert words(rows.height(job_record(state="done", improving=True, doing="46.1 mm"))) == ""
    assert words(rows.height(job_record(state="running", doing="46.1 mm"))) == ""


def test_a_job_is_held_against_the_version_before_or_the_job_before(plan):
    one, two = planned(3, plan, version(1)), planned(5, plan, version(2))
    assert rows.before_name(one, two) == "version 1"
    assert rows.before_name(planned(4, plan, version(2)), two) == "job 4"
    assert rows.before_name(planned(3, plan), two) == "job 3"


def test_what_was_changed_since_last_time_and_what_came_out_for_it(plan, altered):
    dearer = altered(112.5, "quote", "total")
    one = planned(3, plan, version(1), choices={"layer": "50 um"})
    two = planned(5, dearer, version(2), choices={"layer": "60 um"})
    content = rows.since(one, two)
    assert words(content).startswith("Since version 1 layer: 50 µm → 60 µm")
    assert links(content)["Side by side, all figures"] == "/compare?one=3&other=5"
    assert table(content)[1:] == [["whole order", "+12.50 EUR", "112.50 EUR ≈"]]
    assert "The order says the same." in words(rows.since(one, planned(5, plan, version(2), **one.tables)))
    assert "are the same" in words(rows.since(one, planned(5, plan, version(2))))


def test_nothing_is_compared_with_a_job_that_was_refused(plan, altered):
    refused = planned(3, altered("refused", "state"), version(1))
    assert "<table" not in str(rows.since(refused, planned(5, plan, version(2))))


def test_only_files_that_are_there_are_offered():
    content = rows.downloads(4, ["plan.json"])
    assert links(content) == {"Every number of the plan, JSON": "/files/job/4/plan.json"}
    assert words(rows.downloads(4, [])).startswith("Nothing yet")


def test_versions_lead_to_their_jobs_and_say_which_was_approved():
    second = version(2, changes=("layer: 50 um → 60 um",))
    content = rows.versions(8, [second, version(1), version(3)], {12: 8, 11: 6}, {6})
    assert links(content) == {"version 1": "/job/6", "side by side": "/compare?one=6&other=8"}
    assert "version 2 : layer: 50 µm → 60 µm" in words(content)
    assert "version 1 : as it came side by side approved" in words(content)
    assert words(content).endswith("version 3 : as it came")


@pytest.mark.parametrize(("ended", "there"), [("2027-01-02T03:04:05", True), ("", False)])
def test_facts_that_are_not_known_are_left_out(ended, there):
    known = facts(rows.facts(job_record(id=3, began="2027-01-02T03:00:00", ended=ended, person="Ann")))
    assert (known["job"], known["began, UTC"], known["asked by"]) == ("3", "2027-01-02 03:00", "Ann")
    assert ("ended, UTC" in known) is there
    assert "first box can start" not in known


def test_a_version_leads_to_its_latest_job():
    jobs = [job_record(id=7, version=2), job_record(id=6, version=None), job_record(id=5, version=2)]
    assert rows.jobs_of_versions([*jobs, job_record(id=3, version=1)]) == {2: 7, 1: 3}


def test_the_button_that_ends_work_does_not_stand_out():
    assert [act for act in rows.BUTTONS if not rows.stands_out(act)] == ["stop"]
