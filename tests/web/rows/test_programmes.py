"""Programmes of oven and furnace: what was planned, what a change does, and the order that it becomes."""

import numpy as np
import pytest

from page_text import facts, words
from sagger.goods.planned import PlanFinding
from sagger.views.charts import programme
from sagger.views.words.standing import Rest
from sagger.web.rows import programmes as rows

# A stay of two stretches and a set point: 25 to 90 °C in an hour, half an hour there, 90 to 150 °C in
# half an hour, a quarter there, 150 to 200 °C in a fifth of an hour, and there for two hours.
CORNERS = [[0, 25], [1, 90], [1.5, 90], [2, 150], [2.25, 150], [2.45, 200], [4.45, 200]]
WEAK = Rest(1, 0)


def test_rates_and_holds_follow_from_the_corners_of_a_plan():
    rates = [rows.rise(CORNERS, place) for place in range(3)]
    np.testing.assert_allclose(rates, [65 / 60, 60 / 30, 50 / 12], rtol=1e-12)
    first, second = programme.stretches(rows.of_corners(CORNERS))
    assert [(row.target, row.hold) for row in (first, second)] == [(90, 30), (150, 15)]
    np.testing.assert_allclose([first.rate, second.rate], rates[:2], rtol=1e-5)
    assert rows.of_corners(CORNERS[:1] + CORNERS[-2:]) == []


def test_the_oven_begins_where_the_plan_does_and_ends_at_its_set_point(plan):
    (heat,) = rows.ovens(plan, None, 230.0)
    assert (heat.key, heat.name, heat.start, heat.most, heat.point) == (
        "oven_programme", "Oven, box 1", 25.0, 230.0, "200 degC",
    )  # fmt: skip
    np.testing.assert_allclose(heat.rise, (200 - 25) / 60, rtol=1e-12)
    assert heat.box == 0 and heat.rows == []


def test_every_box_has_its_oven_and_the_others_have_the_same_programme(document, altered):
    first = document["boxes"][0]
    two = altered([first, first | {"number": 2}], "boxes")
    stretch = {"rate": "2 K/min", "target": "90 degC", "hold": "30 min"}
    names = [(heat.name, heat.box) for heat in rows.ovens(two, [], 0.0)]
    assert names == [("Oven, box 1", 0), ("Oven, box 2 (the same programme)", 1)]
    long = altered([first | {"cure": first["cure"] | {"programme": CORNERS}}], "boxes")
    (heat,) = rows.ovens(long, [stretch, stretch], 0.0)
    np.testing.assert_allclose(heat.rise, 50 / 12, rtol=1e-12)


def test_the_furnace_is_written_as_an_order_file_has_it(plan, altered):
    heat = rows.furnace(plan, None, 1450.0)
    assert heat.rows[0] == {
        "rate": "2 K/min", "target": "400 degC", "hold": "60 min", "stage": "debinding",
        "atmosphere": "argon",
    }  # fmt: skip
    assert (heat.most, heat.point, heat.box) == (1450.0, "", None)
    assert rows.furnace(plan, [], 0.0).rows == []
    assert rows.furnace(altered(None, "sinter"), None, 0.0) is None


def test_only_programmes_that_differ_become_part_of_the_order(plan):
    oven, furnace = rows.ovens(plan, [], 0.0)[0], rows.furnace(plan, None, 0.0)
    tables = {"order": {"name": "n"}, "choices": {"layer": "50 um"}}
    same = [(oven, [], oven.point), (furnace, [dict(row) for row in furnace.rows], "")]
    assert rows.with_changes(tables, same) == tables
    colder = [dict(row) for row in furnace.rows]
    colder[1]["target"] = "1300 degC"
    changed = rows.with_changes(tables, [(oven, [], "190 degC"), (furnace, colder, "")])
    assert changed["choices"] == {"layer": "50 um", "oven": "190 degC"}
    assert changed["furnace_programme"] == colder
    assert "oven_programme" not in changed
    assert tables == {"order": {"name": "n"}, "choices": {"layer": "50 um"}}


@pytest.mark.parametrize("wrong", ["", "hot", "2 kg"])
def test_a_set_point_that_cannot_be_read_is_not_drawn(wrong):
    assert rows.set_point(wrong, 2.0) is None
    assert rows.set_point("200 degC", 2.0)[:2] == (2.0, 200.0)


def test_facts_of_the_oven_are_those_of_the_plan(plan):
    told = facts(rows.oven_facts(plan.boxes[0].cure, Rest(0, 0)))
    assert told["heating, ramp included"].startswith("5.56 ± ")
    assert told["last piece cured to 95 % after"] == "5 h"
    assert "core reaches 180 °C after" in told


def test_facts_of_the_furnace_are_told_axis_by_axis(plan):
    told = facts(rows.furnace_facts(plan.sinter, WEAK))
    assert told["relative density"] == "97.0 %, standard uncertainty 1.0 % ≈"
    # A length that shrinks by the factor 1.17, 1.18 and 1.20: 1 - 1/1.17 = 14.53 %, and so on.
    along = [told[f"linear shrinkage {axis}"] for axis in "xyz"]
    assert along == ["14.53 ± 0.20 % ≈", "15.25 ± 0.20 % ≈", "16.67 ± 0.20 % ≈"]
    assert (told["peak"], told["runs"]) == ("1350 °C ≈", "1 ≈")


def test_what_was_tried_is_drawn_with_what_was_planned_beside(plan):
    heat = rows.furnace(plan, None, 0.0)
    planned, tried = (rows.heating(heat, heat.rows, "", outcome) for outcome in (None, plan.sinter))
    assert [len(strip.curves) for strip in planned.beneath] == [1, 1, 1]
    assert [len(strip.curves) for strip in tried.beneath] == [2, 2, 2]
    assert planned.stretches[1].target == 1350 and planned.set_point is None
    (oven,) = rows.ovens(plan, [], 0.0)
    planned, tried = (rows.heating(oven, [], "190 degC", outcome) for outcome in (None, oven.planned))
    assert len(tried.beside) == len(planned.beside) + 1
    assert (planned.set_point.target, planned.stretches) == (190.0, [])
    assert "relative density" in facts(rows.facts(heat, None)) and "cooling" in facts(rows.facts(oven, None))


def test_findings_of_a_try_are_told_with_their_level():
    content = rows.findings([PlanFinding(level="stop", what="too hot", text="1500 °C", remedy="Less.")])
    assert 'class="found stop"' in str(content)
    assert words(content) == "too hot : 1500 °C Less."
