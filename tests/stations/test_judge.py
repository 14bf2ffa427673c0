"""Readings against tolerances, and what they say of the process."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from scipy.stats import chi2, norm

from sagger import cards
from sagger.errors import InputError
from sagger.goods.order import Tolerance
from sagger.goods.reading import Reading
from sagger.stations import measure
from sagger.statistics import charts

TENTH = Tolerance(kind="mm", value=0.1)


def lengths(deviations_mm, nominal_mm=20.0, **changed):
    facts = {
        "kind": "length",
        "state": "sintered",
        "u": 5e-6,
        "box": "B1",
        "axis": "x",
        "part": "lever",
    } | changed
    return tuple(
        Reading(
            value=(nominal_mm + off) * 1e-3, nominal=nominal_mm * 1e-3, piece=f"p{n}", number=n + 1, **facts
        )
        for n, off in enumerate(deviations_mm)
    )


@pytest.mark.parametrize(
    ("off", "said"),
    [
        (0.0, "conforms"),
        (0.0917, "conforms"),
        (0.095, "undecided"),
        (0.105, "undecided"),
        (0.109, "does not conform"),
    ],
)
def test_the_guard_band_keeps_doubt_on_the_makers_side(off, said):
    (found,), _ = measure.compare(lengths([off]), TENTH)  # guard band 1.65 x 0.005 mm
    assert found.said == said


def test_the_shared_doubt_of_the_calliper_widens_the_guard_band():
    (found,), _ = measure.compare(lengths([0.085], u_shared=1.2e-5), TENTH)
    np.testing.assert_allclose(found.u_mm, 0.013, rtol=1e-9)
    assert found.said == "undecided"


def test_what_has_no_nominal_or_no_tolerance_is_left_out_with_the_reason():
    bare = Reading(kind="length", state="sintered", value=0.02, u=1e-6, box="B1", piece="a")
    iso = Tolerance(kind="iso2768", grade="f", steps=((30.0, 120.0, 0.15),))
    _, left = measure.compare((bare, *lengths([0.0])), iso)
    assert left == ("B1 a: no nominal size", "B1 p0: the tolerance gives no value at 20 mm")


@pytest.mark.slow
def test_no_bare_index_is_given_of_fewer_than_twenty_five_pieces():
    random = np.random.default_rng(1)
    few, many = (
        measure.judge(lengths(random.normal(0, 0.02, count)), TENTH).characteristics[0] for count in (24, 25)
    )
    assert few.index is None and many.index is not None
    assert few.index_low < few.index_least < few.index_high
    assert many.index_low < many.index_least < many.index < many.index_high


@pytest.mark.slow
def test_the_lower_bound_holds_in_nineteen_of_twenty_studies():
    """Known truth: capability 1.2 from 30 pieces, 400 times over; the bound is below it in about 95 %."""
    random, held = np.random.default_rng(3), 0
    for _ in range(400):
        values = random.normal(0.02, 0.08 / 3.6, 30)
        held += measure.judge(lengths(values), TENTH).characteristics[0].index_least <= 1.2
    assert 0.93 <= held / 400 <= 0.97


@pytest.mark.slow
def test_the_tolerance_interval_holds_what_it_says_as_often_as_it_says():
    random, held = np.random.default_rng(5), 0
    for _ in range(400):
        low, high = measure.judge(lengths(random.normal(0, 0.02, 15)), TENTH).characteristics[0].holds_mm
        held += norm.cdf(high / 0.02) - norm.cdf(low / 0.02) >= 0.95
    assert 0.93 <= held / 400 <= 0.97


@pytest.mark.slow
def test_a_shifted_size_is_told_what_it_would_be_on_nominal_and_which_grade_its_scatter_fills():
    """Quantiles of a normal distribution, so that mean and scatter are known; ISO 22514-2, ISO 286-1."""
    values = 0.03 + 0.02 * norm.ppf((np.arange(30) + 0.5) / 30)
    (found,) = measure.judge(lengths(values), TENTH, cards.iso286()).characteristics
    sd = values.std(ddof=1)
    np.testing.assert_allclose(found.index, 0.07 / (3 * sd), rtol=1e-9)
    np.testing.assert_allclose(found.width, 0.1 / (3 * sd), rtol=1e-9)
    np.testing.assert_allclose(found.about_nominal, 0.1 / (3 * np.hypot(sd, 0.03)), rtol=1e-9)
    np.testing.assert_allclose(found.outside, 2 * norm.sf(0.1 / sd), rtol=1e-9)
    tails = np.sqrt(chi2.ppf([0.025, 0.975], 29) / 29)
    np.testing.assert_allclose([found.width_low, found.width_high], found.width * tails, rtol=1e-9)
    assert 0.084 < found.holds_mm[1] - found.holds_mm[0] < 0.13  # IT10 and IT11 at 20 mm
    assert found.grade == "IT11"
    (bare,) = measure.judge(lengths(values), TENTH).characteristics
    (large,) = measure.judge(lengths(values, nominal_mm=600.0), TENTH, cards.iso286()).characteristics
    assert bare.grade == large.grade == ""


@pytest.mark.slow
def test_a_shift_of_the_mean_is_noticed_by_all_charts():
    random = np.random.default_rng(2)
    values = np.concatenate([random.normal(0, 0.02, 30), random.normal(0.05, 0.02, 12)])
    found = measure.judge(lengths(values), TENTH).characteristics[0]
    rules = {alarm.rule for alarm in found.charts.alarms}
    assert {"run", "weighted mean", "cumulative sum"} <= rules
    assert max(alarm.place for alarm in found.charts.alarms) >= 30


@pytest.mark.slow
def test_a_jump_between_neighbours_marks_the_range_and_says_how_rare_that_is():
    values = [0.002, -0.002, 0.0, 0.003, -0.001, 0.0, 0.06, 0.0, -0.002, 0.002, 0.0]
    found = measure.judge(lengths(values), TENTH).characteristics[0]
    marked = [(each.place, round(each.every)) for each in found.charts.alarms if each.rule == "moving range"]
    assert (6, 109) in marked


@pytest.mark.parametrize(
    ("values", "said"),
    [([0.01, 0.02], "2 readings; a chart needs 3"), ([0.01] * 4, "all 4 readings are the same")],
)
def test_too_few_readings_or_no_scatter_are_told_in_words(values, said):
    judged = measure.judge(lengths(values, feature="bore"), TENTH)
    assert judged.characteristics == () and said in judged.left_out[0]


@pytest.mark.slow
def test_a_quiet_process_alarms_about_as_rarely_as_it_says():
    """Each chart is begun anew after its alarm, as the average run length is counted."""
    random, lengths_of_run = np.random.default_rng(8), []
    for _ in range(400):
        found = charts.alarms(random.normal(0, 1, 2000))
        lengths_of_run.append(found[0][0] + 1 if found else 2000)
    said = charts.rules_run_length()
    np.testing.assert_allclose(np.mean(lengths_of_run), said, rtol=3 / 400**0.5)


@pytest.mark.slow
def test_coupons_are_one_part_whatever_their_label():
    many = lengths([0.01, -0.02, 0.015, 0.0], part="steps 1-01", coupon=True)
    more = tuple(dataclasses.replace(one, part=f"steps 1-{n:02d}") for n, one in enumerate(many))
    (found,) = measure.judge(more, TENTH).characteristics
    assert found.size.part == "steps"


@pytest.mark.slow
def test_a_gauge_study_comes_from_readings_of_several_persons():
    random = np.random.default_rng(4)
    own = random.normal(0, 0.05, 8)
    rows = []
    for person, bias in (("A", 0.0), ("B", 0.006), ("C", -0.004)):
        for _ in range(3):
            rows += lengths(own + bias + random.normal(0, 0.004, 8), person=person, instrument="calliper 1")
    by_variance, by_ranges, shape = measure.study(tuple(rows), "calliper 1")
    assert shape == (3, 8, 3)
    np.testing.assert_allclose(by_variance.repeat, 0.004, rtol=0.25)
    np.testing.assert_allclose(by_variance.part, own.std(ddof=1), rtol=0.1)
    np.testing.assert_allclose(by_ranges.gauge, by_variance.gauge, rtol=0.2)


def test_a_study_by_one_person_is_refused():
    with pytest.raises(InputError, match="two persons"):
        measure.study(lengths([0.0, 0.1], person="A", instrument="calliper 1"), "calliper 1")
