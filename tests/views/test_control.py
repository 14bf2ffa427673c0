"""Control charts and charts of factors: what stands on them, and what is said beside them."""

import xml.etree.ElementTree as xml
from itertools import pairwise

import pytest

from records import factors_approval
from sagger.goods.order import Tolerance
from sagger.goods.reading import Reading
from sagger.stations import measure
from sagger.views.charts import control, factor_charts
from sagger.views.words import judged as view


def size(values_mm, nominal_mm, half_mm, boxes=("B1",)):
    readings = tuple(
        Reading(
            kind="length", state="sintered", value=value * 1e-3, nominal=nominal_mm * 1e-3, u=1e-6,
            box=boxes[n * len(boxes) // len(values_mm)], piece=f"p{n}", part="lever & pin", axis="x",
            number=n + 1,
        )
        for n, value in enumerate(values_mm)
    )  # fmt: skip
    (found,) = measure.judge(readings, Tolerance(kind="mm", value=half_mm)).characteristics
    return found


def drawn(of):
    return control.chart(of.charts, control.name(of.size), of.half_mm)


def words_of(picture):
    return ["".join(each.itertext()) for each in xml.fromstring(picture).iter() if each.tag.endswith("text")]


def framed(picture):
    whole = xml.fromstring(picture)
    marks = [each for each in whole.iter() if each.get("class") == "mark"]
    return [len(each) for each in marks]


def test_the_limits_of_the_published_example_stand_beside_their_lines():
    """NIST/SEMATECH e-Handbook 6.3.2.2: mean 50.81, limits 45.8159 and 55.8041; mean range 1.8778."""
    flow = size([49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1], 50.0, 9.0)
    said = words_of(drawn(flow))
    for words in (
        "mean +0.810",
        "lower limit −4.184",
        "upper limit +5.804",
        "mean 1.878",
        "tolerance −9.000",
    ):
        assert words in said
    assert framed(drawn(flow)) == [0, 0]
    limits = {what: (value, source) for what, value, _, source in view.limits(flow.charts)}
    assert limits["limits of single values"] == ("−4.184 to +5.804", "NIST/SEMATECH e-Handbook 6.3.2.2")


def test_a_density_is_drawn_as_it_was_read_and_without_a_tolerance():
    cups = tuple(
        Reading(
            kind="density", state="green", value=value, u=2.0, box="B1", piece="cup", part="cup", number=n
        )
        for n, value in enumerate((4300.0, 4312.0, 4292.0, 4304.0))
    )
    title = control.name(measure.size(cups[0]))
    said = words_of(control.chart(measure.control(cups), title))
    assert {"cup, green density", "reading, g/cm³", "mean 4.3020"} <= set(said)
    assert not any(words.startswith("tolerance") for words in said)


@pytest.mark.slow
def test_a_reading_far_out_is_framed_in_both_charts_and_named_with_its_reason():
    values = [
        20 + off for off in (0.002, -0.002, 0.0, 0.003, -0.001, 0.0, 0.06, 0.0, -0.002, 0.0, 0.002, 0.0)
    ]
    found = size(values, 20.0, 0.1, ("B1", "B2"))
    picture = drawn(found)
    above, below = framed(picture)
    assert above >= 1 and below == 2  # up and down again
    said = view.alarms(found.charts)
    assert said[0].startswith("beyond three standard deviations of the chart: reading 7, B2 p6 (")
    assert any("reading before" in line and "readings 7 to 8" in line for line in said)
    assert "every 217 points" in said[0]
    assert {"B1", "B2", "lever & pin, along x, 20 mm"} <= set(words_of(picture))


def test_below_twenty_five_pieces_only_bounds_of_the_capability_are_told():
    (name, value, *_), *bounds = view.able(size([20.01, 19.99, 20.02, 19.98], 20.0, 0.1))
    assert (name, value) == ("capability", "not told below 25 pieces; there are 4")
    assert all(source for *_, source in bounds)
    rows = {name: value for name, value, *_ in bounds}
    assert rows["capability, mean on nominal"] == rows["capability about nominal"] == value
    assert rows["at least, 95 % sure"] == "0.59" and rows["outside, mean on nominal"] == "4.3e-08"


@pytest.mark.slow
def test_names_of_lines_that_lie_close_do_not_stand_on_one_another():
    found = size([20.01, 19.99, 20.02, 19.98, 20.0], 20.0, 0.075)
    whole = xml.fromstring(drawn(found))
    said = [each for each in whole if each.tag.endswith("text") and each.get("text-anchor") == "start"]
    heights = sorted(float(each.get("y")) for each in said)
    assert len(heights) == 5
    assert all(after - before >= 15 for before, after in pairwise(heights))


def row(number, k, u=0.002, lot=""):
    return factors_approval(number, "steel", (k, k, k), (u, u, u), lot)


def test_factors_over_time_are_drawn_once_there_is_more_than_one():
    rows = [row(3, 1.187), row(2, 1.18, lot="L1"), row(1, 1.19)]  # newest first, as the ledger lists them
    ((name, versions),) = factor_charts.series(rows)
    assert name == "steel" and [each.id for each in versions] == [1, 3]
    whole = xml.fromstring(factor_charts.chart(versions, "x"))
    assert len([each for each in whole.iter() if each.tag.endswith("circle")]) == 2
    assert {"entry 1", "entry 3", "along x"} <= set(words_of(factor_charts.chart(versions, "x")))


@pytest.mark.parametrize(("u", "said"), [(0.002, "−0.0030, 1.1 standard uncertainties"), (0.0, "−0.0030")])
def test_what_an_approval_changed_is_said_in_its_uncertainties(u, said):
    assert said in factor_charts.words([row(1, 1.19, u), row(2, 1.187, u)])[0]
