"""Bounds of a share by Clopper and Pearson."""

import numpy as np
import pytest
from scipy.stats import binom

from sagger.errors import LawError
from sagger.statistics import coverage

pytestmark = pytest.mark.outside("the bounds' definition, by scipy's binomial law; closed form")


@pytest.mark.parametrize(("inside", "number"), [(8, 9), (22, 31), (1, 2), (60, 60)])
def test_at_each_bound_what_was_seen_is_as_rare_as_asked(inside, number):
    """The definition: at the bound, a count as far out has a chance of 2.5 %."""
    low, high = coverage.bounds(inside, number)
    np.testing.assert_allclose(binom.sf(inside - 1, number, low), 0.025, rtol=1e-6)
    if inside < number:
        np.testing.assert_allclose(binom.cdf(inside, number, high), 0.025, rtol=1e-6)


def test_none_and_all_are_bounded_by_the_closed_form():
    """0 of n: upper bound 1 - 0.025^(1/n)."""
    np.testing.assert_allclose(coverage.bounds(0, 10), (0.0, 1 - 0.025**0.1), rtol=1e-9)
    np.testing.assert_allclose(coverage.bounds(10, 10), (0.025**0.1, 1.0), rtol=1e-9)


@pytest.mark.parametrize(("inside", "number"), [(1, 0), (3, 2), (-1, 4)])
def test_a_share_of_nothing_is_refused(inside, number):
    with pytest.raises(LawError):
        coverage.bounds(inside, number)
