"""Propagation against the guide's own example and Monte Carlo, chance against counting."""

import math

import numpy as np
import pytest

from sagger.errors import LawError
from sagger.statistics import chance

END_GAUGE = [50.000623e6, 215.0, 0.0, 11.5e-6, -0.1, 0.0]  # JCGM 100:2008, H.1; lengths in nm
END_GAUGE_U = [25.0, 9.7, 0.58e-6, 1.2e-6, 0.41, 0.029]


def end_gauge(at):
    standard, apart, expansion_apart, expansion, off, off_apart = at
    return standard + apart - standard * (expansion_apart * off + expansion * off_apart)


@pytest.mark.outside("JCGM 100:2008, H.1")
def test_jcgm_100_h1_end_gauge():
    """JCGM 100:2008, H.1: contributions 25, 9.7, 2.9, 16.6 nm, combined 32 nm; 31.7106 unrounded."""
    found = chance.propagated(end_gauge, END_GAUGE, END_GAUGE_U)[:, 0]
    np.testing.assert_allclose(np.abs(found[[0, 1, 2, 5]]), [25, 9.7, 2.9, 16.675], rtol=1e-3)
    np.testing.assert_allclose(chance.combined(found), 31.7106, rtol=1e-5)
    both = chance.combined_by_result(np.column_stack([found, 2 * found]))  # two results of the same inputs
    np.testing.assert_allclose(both, [31.7106, 63.4212], rtol=1e-5)


@pytest.mark.nature
def test_named_shares_sum_to_one_with_the_largest_first_and_none_of_nothing():
    found = chance.named_shares([("bed", 3e-200), ("film", -4e-200), ("packing", 0.0)])
    assert [name for name, _ in found] == ["film", "bed", "packing"]
    np.testing.assert_allclose([share for _, share in found], [0.64, 0.36, 0.0], rtol=1e-12)
    assert chance.named_shares([("bed", 0.0)]) == ()


def test_linear_propagation_is_blind_to_the_second_order():
    """JCGM 100:2008, H.1.7: with second-order terms 34 nm; two inputs have no slope at all."""
    found = chance.propagated(end_gauge, END_GAUGE, END_GAUGE_U)[:, 0]
    assert np.all(np.abs(found[[3, 4]]) < 1e-6)
    drawn = np.random.default_rng(1).normal(END_GAUGE, END_GAUGE_U, (200_000, 6)).T
    np.testing.assert_allclose(end_gauge(drawn).std(), 33.9, rtol=0.01)


def test_chance_is_what_counting_gives():
    drawn = np.random.default_rng(2).normal(10.0, 0.3, 200_000)
    counted = np.mean((drawn > 9.8) & (drawn < 10.7))
    np.testing.assert_allclose(chance.within(10.0, 0.3, 9.8, 10.7), counted, rtol=0.01)


def test_far_tail_keeps_its_digits():
    np.testing.assert_allclose(chance.within(0, 1, 9, 11), math.erfc(9 / math.sqrt(2)) / 2, rtol=1e-8)
    np.testing.assert_allclose(chance.within(0, 1, 9, 11), chance.within(0, 1, -11, -9), rtol=1e-12)


def test_no_doubt_is_yes_or_no():
    assert chance.within(1.0, 0.0, 1.0, 2.0) == 1 and chance.within(0.9, 0.0, 1.0, 2.0) == 0
    assert chance.shares([0.0, 0.0]).sum() == 0


def test_nonsense_is_refused():
    with pytest.raises(LawError, match="crossed"):
        chance.within(0, 1, 2, 1)
    with pytest.raises(LawError, match="positive"):
        chance.updated(1, 0, 1, 1)
    with pytest.raises(LawError, match="settle"):
        chance.inflation(2.0)
