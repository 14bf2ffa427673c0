"""Run rules point by point; run lengths and factors stand in tests/published/charts.toml."""

import numpy as np
import pytest

from sagger.errors import LawError
from sagger.statistics import capability, charts, gauge

ALL = tuple(charts.RULES)


@pytest.mark.parametrize(
    ("points", "found"),
    [
        ([0.5, 3.1], [(1, "beyond")]),
        ([2.5, 0.5, 2.2], [(2, "two of three")]),
        ([2.5, -2.5, 0.1], []),
        ([1.5, 1.2, 0.3, 1.1, 1.9], [(4, "four of five")]),
        ([0.4] * 9, [(8, "run")]),
        ([0.4] * 8 + [-0.4], []),
        ([-0.4] * 10, [(8, "run"), (9, "run")]),
    ],
)
@pytest.mark.outside("NIST/SEMATECH e-Handbook 6.3.2, the rules in words")
def test_run_rules_alarm_where_they_should(points, found):
    assert list(charts.alarms(points, ALL)) == found


def test_a_rule_that_is_not_asked_does_not_alarm():
    assert charts.alarms([2.5, 0.5, 2.2]) == ()


@pytest.mark.outside("NIST/SEMATECH e-Handbook 6.3.2.3")
def test_cumulative_sums_follow_the_published_recursion():
    """NIST/SEMATECH e-Handbook 6.3.2.3, worked by hand: k = 0.5, values in standard deviations."""
    up, down = charts.cusum([1.0, 2.0, -1.0, -3.0], 0.0, 1.0)
    np.testing.assert_allclose(up, [0.5, 2.0, 0.5, 0.0], rtol=1e-12)
    np.testing.assert_allclose(down, [0.0, 0.0, 0.5, 3.0], rtol=1e-12)


def test_faster_rules_alarm_for_nothing_more_often():
    assert charts.rules_run_length(ALL, 8) < charts.rules_run_length(("beyond", "run"), 9) < 371


def test_too_few_values_are_refused():
    with pytest.raises(LawError, match="three at least"):
        charts.individuals([1.0, 2.0])
    with pytest.raises(LawError, match="two pieces"):
        charts.constants(1)
    with pytest.raises(LawError, match="two pieces"):
        capability.cp_bounds(1.0, 1)
    with pytest.raises(LawError, match="above 0"):
        capability.cp(0.0, 1.0, 0.0)
    with pytest.raises(LawError, match="two persons"):
        gauge.crossed(np.zeros((1, 3, 2)))


def test_a_variance_below_zero_is_set_to_it_and_said():
    """Two persons who differ less than their own repeatability lets expect."""
    random = np.random.default_rng(1)
    same = random.normal(0, 1, (1, 10, 3)) + random.normal(0, 5, (1, 10, 1))
    found = gauge.crossed(np.concatenate([same, same[:, :, ::-1]]))
    assert found.operator == 0.0 and "operator" in found.clipped


def test_an_interaction_of_persons_and_parts_is_kept_where_it_is_real():
    random = np.random.default_rng(2)
    own = random.normal(0, 1, (3, 10, 1))
    found = gauge.crossed(random.normal(0, 0.1, (3, 10, 3)) + own + random.normal(0, 3, (1, 10, 1)))
    assert not found.pooled and found.operator > 0.5
