"""What the bench tells about a job: route, decision, differences, what figures rest on."""

import pkgutil
from functools import partial

import numpy as np
import pytest

import sagger.stations
from records import altered_plan, job_record, plan_approval, read_plan
from sagger.views import plan as plan_view
from sagger.views.charts import programme
from sagger.views.words.changes import changes
from sagger.views.words.compare import compare
from sagger.views.words.decide import decision
from sagger.views.words.headline import headline
from sagger.views.words.route import ROOMS, route
from sagger.views.words.standing import READS, rest

ROW = job_record()


@pytest.fixture(scope="module")
def document(job):
    """plan.json of the job made by hand, every size certain."""
    weak = [("powder", "d50", "16 um", "memory", "hand"), ("oven", "ambient", "25 degC", "assumed", "hand")]
    return plan_view.document(job, (), weak, {}, "0")


@pytest.fixture(scope="module")
def plan(document):
    return read_plan(document)


@pytest.fixture
def altered(document):
    """A plan of its own with one number replaced."""
    return partial(altered_plan, document)


def states(*, nested=False, **row):
    return {leg.room: leg.state for leg in route(job_record(state="running", **row), nested, None)}


def test_the_route_runs_through_every_step_that_the_line_has():
    stations = {each.name for each in pkgutil.iter_modules(sagger.stations.__path__)}
    assert (
        set(ROOMS) == set(READS) == stations - {"measure", "schedule", "dates"}
    )  # after the job, and across jobs
    assert list(states(step="cure").values()).count("running") == 1
    assert states(step="cure")["dosing"] == "ready"
    assert states(step="cure")["sinter"] == "to come"


def test_asking_the_layers_how_far_pieces_lie_apart_is_part_of_nesting():
    assert states(step="layers")["nest"] == "running"
    row = job_record(state="running", step="layers", doing="drawing layers", done=30, total=120)
    leg = next(leg for leg in route(row, True, None) if leg.room == "layers")
    assert (leg.state, leg.share, leg.doing) == ("running", 0.25, "drawing layers, 30 of 120")


def test_a_step_of_a_planned_job_shows_its_worst_finding_first(plan, altered):
    told = [
        {"station": "dosing", "level": level, "what": level, "text": "", "remedy": "", "source": ""}
        for level in ("ok", "look", "stop")
    ]
    legs = {leg.room: leg for leg in route(ROW, False, altered(told, "findings"))}
    assert [finding.level for finding in legs["dosing"].findings] == ["stop", "look"]
    assert (legs["dosing"].state, legs["nest"].state) == ("stop", "ready")


def test_sand_has_no_furnace_on_its_route(altered):
    assert "sinter" not in {leg.room for leg in route(ROW, False, altered(None, "sinter"))}


def test_results_rest_on_the_weak_figures_of_the_cards_their_step_reads(plan, altered):
    assert (rest(plan, "shrink").memory, rest(plan, "shrink").assumed) == (1, 0)
    assert (rest(plan, "cure").memory, rest(plan, "cure").assumed) == (1, 1)
    assert not rest(plan, "nest").weak
    measured = altered("approved factors, ledger entry 3", "factors", "origin")
    assert not rest(measured, "shrink").weak


@pytest.mark.parametrize(
    ("row", "words", "acts"),
    [
        ({"state": "running"}, "Nothing to decide yet", ("stop",)),
        ({"state": "running", "improving": True}, "Nothing to decide: the nest", ("enough", "stop")),
        ({"state": "interrupted"}, "Go on with planning", ("go on", "change")),
        ({"state": "failed", "message": "no unit"}, "Mend what was refused", ("change", "go on")),
        ({"state": "stopped", "message": "too close"}, "Change it", ("change",)),
    ],
)
def test_what_comes_next_while_there_is_no_plan(row, words, acts):
    said = decision(job_record(**row), None, None)
    assert said.words.startswith(words)
    assert said.acts == acts
    assert said.waits == (row["state"] != "running")


def test_a_stop_comes_before_doubtful_sizes_and_those_before_a_look(document):
    finding = {"what": "thin wall", "text": "0.2 mm", "remedy": "Thicken it.", "station": "intake"}
    look, stop = finding | {"level": "look"}, finding | {"level": "stop"}
    sure = [promise | {"chance_percent": 99.0} for promise in document["quote"]["promises"]]
    quote = document["quote"] | {"promises": sure}
    doubtful = document["quote"] | {"promises": [sure[0] | {"chance_percent": 12.0}, *sure[1:]]}

    def asks(quote, *findings):
        return decision(ROW, read_plan(document | {"quote": quote, "findings": list(findings)}), None)

    assert "Look at this" in asks(quote, look).words
    assert "12 %" in asks(doubtful, look).words
    assert asks(doubtful, look, stop)[0::2][:2] == ("Change it: thin wall", ("change",))


def test_what_was_approved_is_printed(plan):
    said = decision(ROW, plan, plan_approval("Ann", "2027-01-02T03:04"))
    assert said.words.startswith("Print it")
    assert "Ann approved it on 2027-01-02 03:04" in said.why
    assert not said.waits


def test_two_plans_differ_where_a_number_does(plan, altered):
    assert {pair.differs for pair in compare(plan, plan)} == {""}
    dearer = altered(plan.quote.total + 12.5, "quote", "total")
    (pair,) = [pair for pair in compare(plan, dearer) if pair.differs]
    assert (pair.name, pair.differs, pair.better) == ("whole order", "+12.50", "one")
    (back,) = [pair for pair in compare(dearer, plan) if pair.differs]
    assert (back.differs, back.better) == ("−12.50", "other")


def test_a_surer_size_is_the_better_one(plan, altered):
    surer = altered(99.0, "quote", "promises", 0, "chance_percent")
    doubtful = altered(50.0, "quote", "promises", 0, "chance_percent")
    (pair,) = [pair for pair in compare(doubtful, surer) if pair.differs]
    assert (pair.group, pair.better, pair.differs) == ("Chance inside tolerance", "other", "+49.0")


def test_the_headline_tells_the_least_chance_and_by_how_much_the_date_moves(plan, altered):
    chances = [promise.chance_percent for promise in plan.quote.promises]
    later = altered("2030-01-09T10:30", "quote", "ready")
    lines = {each.name: each for each in headline(altered("2030-01-09T08:00", "quote", "ready"), later)}
    assert lines["chance, least certain size"].one == f"{min(chances):.1f}"
    assert (lines["ready"].differs, lines["ready"].better) == ("2 h 30 min later", "one")


def test_changes_of_an_order_are_told_by_key():
    before = {"order": {"name": "n"}, "cards": {"powder": "p"}, "part": [{"file": "a.stl", "quantity": 2}]}
    after = before | {
        "choices": {"layer": "60 um"},
        "part": [{"file": "a.stl", "quantity": 3}, {"file": "b.stl"}],
    }
    assert changes(before, after) == ("layer: not set → 60 um", "a.stl, quantity: 2 → 3", "b.stl: added")
    assert changes(after, after) == ()


def values(curve):
    return np.array([value for _, value in curve.points])


def test_shrinkage_beneath_the_curve_follows_from_density_as_mass_stays(plan):
    density, shrinkage, _ = (values(strip.curves[0]) for strip in programme.furnace(plan.sinter))
    np.testing.assert_allclose(density * (1 - shrinkage / 100) ** 3, density[0], rtol=1e-3)


def test_what_was_planned_before_is_drawn_faintly_beside(plan):
    strips = programme.furnace(plan.sinter, plan.sinter, weak=True)
    assert all([curve.faint for curve in strip.curves] == [False, True] for strip in strips)
    assert all(strip.weak for strip in strips)
    above, (cured,) = programme.oven(plan.boxes[0].cure)
    assert [curve.faint for curve in (*above, *cured.curves)] == [False] * 5


def test_stretches_end_before_what_cannot_be_read_and_are_written_as_they_were():
    rows = [
        {"rate": "10 K/min", "target": "620 degC", "hold": "60 min"},
        {"rate": "5 K/min", "target": "1220 degC", "hold": "0.5 h"},
    ]
    told = programme.stretches(rows)
    assert [row[:3] for row in told] == [(10, 620, 60), (5, 1220, 30)]
    assert programme.written(told[0]._asdict()) == rows[0]
    for wrong in ("12 k", "12 kg", ""):
        assert programme.stretches([rows[0], rows[1] | {"target": wrong}]) == told[:1]


def test_a_difference_is_that_of_the_two_figures_as_they_are_told(plan, altered):
    one, other = (altered(height, "boxes", 0, "height_mm") for height in (62.84, 62.86))
    (pair,) = [pair for pair in compare(one, other) if pair.name == "height of the first"]
    assert (pair.one, pair.other, pair.differs) == ("62.8", "62.9", "+0.1")
