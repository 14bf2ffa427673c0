"""What the chart library is asked to draw of a heating programme."""

import json

import numpy as np
import pytest

from sagger.views.charts import screen
from sagger.views.charts.screen import Curve, Heating, PlottedStretch, Strip

STRETCHES = [
    PlottedStretch(2.0, 140.0, 60.0, "debinding, argon"),
    PlottedStretch(1.0, 200.0, 0.0, "debinding, argon"),
    PlottedStretch(10.0, 800.0, 30.0, "sintering, hydrogen"),
]
# 20 to 140 °C at 2 K/min is an hour, held for one; 60 K more at 1 K/min is an hour; 600 K at 10 K/min is an
# hour, held for half of one.
HOURS = [0, 1, 2, 3, 3, 4, 4.5]
COOLED = Curve("furnace, cooling included", ((0.0, 20.0), (4.0, 790.0), (9.0, 60.0)), "dotted", "#123456")
DENSE = Curve("with the curve as set", ((0.0, 55.0), (4.5, 97.0)), "solid", "#654321")
BEFORE = Curve("as planned", ((0.0, 55.0), (4.5, 90.0)), "dashed", "#654321", faint=True)
STRIP = Strip("relative density", "%", (50, 100), "ends at 97.0 ± 1.0 %", True, (DENSE, BEFORE))


def heating(**changes):
    facts = {"stretches": STRETCHES, "set_point": None, "start": 20.0, "most": 1450.0, "limit": "the limit"}
    return Heating(
        **(facts | {"beside": (COOLED,), "beneath": (STRIP, STRIP._replace(weak=False))} | changes)
    )


def test_corners_follow_from_rates_and_holds():
    points = screen.corners(heating())
    np.testing.assert_allclose([hour for hour, _ in points], HOURS, rtol=1e-12)
    assert [heat for _, heat in points] == [20, 140, 140, 200, 200, 800, 800]
    cooled = screen.corners(heating(stretches=[], set_point=PlottedStretch(2.0, 140.0)))
    np.testing.assert_allclose(cooled, [(0, 20), (1, 140), (1, 140)], rtol=1e-12)
    assert screen.corners(heating(stretches=[])) == ((0.0, 20.0),)


def test_hours_run_along_and_temperature_up_on_one_time_for_all_strips():
    option = screen.option(heating())
    programme, beside, *strips = option["series"]
    assert programme["data"][:2] == [[0.0, 20.0], [1.0, 140.0]]
    assert beside["data"] == [[0.0, 20.0], [4.0, 790.0], [9.0, 60.0]]
    assert [line["xAxisIndex"] for line in option["series"][1:]] == [0, 1, 1, 2, 2]
    assert [line["yAxisIndex"] for line in strips] == [1, 1, 2, 2]
    np.testing.assert_allclose([axis["max"] for axis in option["xAxis"]], [9.18] * 3, rtol=1e-12)
    assert [axis["name"] for axis in option["xAxis"] if "name" in axis] == ["hours"]
    assert [(axis["min"], axis["max"]) for axis in option["yAxis"][1:]] == [(50, 100)] * 2
    assert [grid["top"] for grid in option["grid"]] == sorted(grid["top"] for grid in option["grid"])


@pytest.mark.parametrize(("most", "top"), [(0.0, 864.0), (5000.0, 864.0), (1000.0, 1060.0)])
def test_the_limit_is_seen_once_the_programme_comes_near_it(most, top):
    option = screen.option(heating(most=most))
    np.testing.assert_allclose(option["yAxis"][0]["max"], top, rtol=1e-9)
    marks = option["series"][0].get("markLine")
    assert (marks is None) == (most == 0.0)
    assert most == 0.0 or marks["data"] == [{"yAxis": most}]


def test_stretches_of_one_name_are_one_band_named_where_there_is_room():
    first, second = screen.option(heating())["series"][0]["markArea"]["data"]
    assert [end["xAxis"] for end in first] == [0.0, 3.0]
    assert [end["xAxis"] for end in second] == [3.0, 4.5]
    assert (first[0]["name"], second[0]["name"]) == ("debinding, argon", "")  # 1.5 h are too narrow for it
    unnamed = [row._replace(name="") for row in STRETCHES]
    assert screen.option(heating(stretches=unnamed))["series"][0]["markArea"]["data"] == []


def test_strips_tell_what_they_come_to_and_mark_what_is_weak():
    titles = [title["text"] for title in screen.option(heating())["title"]]
    assert titles == [
        "relative density, %: ends at 97.0 ± 1.0 % ≈",
        "relative density, %: ends at 97.0 ± 1.0 %",
    ]


def test_what_was_before_is_fainter_and_every_name_stands_once_in_the_legend():
    option = screen.option(heating())
    now, before = option["series"][2]["lineStyle"], option["series"][3]["lineStyle"]
    assert before["opacity"] < 1 and "opacity" not in now and before["width"] < now["width"]
    names = ["as set", "furnace, cooling included", "with the curve as set", "as planned"]
    assert option["legend"]["data"] == names


def test_it_can_be_sent_to_a_browser_and_names_colours_by_the_theme():
    text = json.dumps(screen.option(heating()))
    assert "var(--ink)" in text and "NaN" not in text
    assert screen.height(heating()) == screen.height(heating(beneath=())) + 2 * (screen.STRIP + screen.GAP)


def test_pointing_at_the_chart_reads_out_what_is_and_not_what_was():
    option = screen.option(heating())
    read = [(line["quantity"], line["unit"]) for line in option["series"][1:4]]
    assert read == [("furnace, cooling included", "°C"), ("relative density", "%"), ("", "%")]
    two = STRIP._replace(curves=(DENSE, DENSE._replace(name="hottest piece")))
    read = [line["quantity"] for line in screen.option(heating(beneath=(two,)))["series"][2:]]
    assert read == ["relative density, with the curve as set", "relative density, hottest piece"]
