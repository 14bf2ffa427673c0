"""Draws against the worked examples of JCGM 101:2008 (figures from memory of its tables 2, 3, 5 and 6)."""

import numpy as np
import pytest
from scipy.special import ndtr

from sagger.errors import LawError
from sagger.statistics import draws

pytestmark = pytest.mark.outside("JCGM 101:2008, 9.2 to 9.4; closed forms")

MANY = 1 << 17


def flat(deviates, low, high):
    return low + (high - low) * ndtr(deviates)


@pytest.mark.slow
def test_jcgm_101_9_2_2_four_normal_quantities_add_up_to_3_92():
    total = draws.normal(MANY, 4, 1).sum(axis=1)
    np.testing.assert_allclose(np.std(total), 2.00, atol=0.005)
    np.testing.assert_allclose(draws.interval(total), (-3.92, 3.92), atol=0.01)


def test_jcgm_101_9_2_3_four_rectangular_quantities_add_up_to_3_88():
    """Each rectangular of unit standard deviation, ± root 3."""
    total = flat(draws.normal(MANY, 4, 1), -np.sqrt(3), np.sqrt(3)).sum(axis=1)
    np.testing.assert_allclose(draws.interval(total), (-3.88, 3.88), atol=0.01)


def test_jcgm_101_9_3_calibration_of_a_mass():
    """Air, weight and reference densities rectangular; conventional mass of 100 g against nominal [mg]."""
    z = draws.normal(MANY, 5, 1)
    reference = 100_000.000 + 0.050 * z[:, 0]
    added = 1.234 + 0.020 * z[:, 1]
    air, weight, standard = (
        flat(z[:, 2], 1.10, 1.30),
        flat(z[:, 3], 7e3, 9e3),
        flat(z[:, 4], 7.95e3, 8.05e3),
    )
    off = (reference + added) * (1 + (air - 1.2) * (1 / weight - 1 / standard)) - 100_000
    np.testing.assert_allclose(np.mean(off), 1.234, atol=0.0005)
    np.testing.assert_allclose(np.std(off), 0.0754, atol=0.0005)
    np.testing.assert_allclose(draws.interval(off), (1.0834, 1.3825), atol=0.001)


def test_jcgm_101_9_4_comparison_loss_at_zero_is_not_normal():
    """Two components of a reflection, each 0 ± 0.005: loss exponential with mean and u 50e-6, closed form."""
    loss = np.sum((0.005 * draws.normal(MANY, 2, 1)) ** 2, axis=1)
    np.testing.assert_allclose([np.mean(loss), np.std(loss)], 50e-6, rtol=0.01)
    ends = -50e-6 * np.log([0.975, 0.025])
    np.testing.assert_allclose(draws.interval(loss), ends, rtol=0.02)


def test_a_row_may_be_paired_with_the_same_row_of_other_draws():
    """Without their rows mixed, two such sequences move together bit by bit."""
    first, second = draws.normal(1024, 3, 1), draws.normal(1024, 3, 2)
    both = np.mean((first[:, 0] > 0) & (second[:, 0] > 0))
    np.testing.assert_allclose(both, 0.25, atol=0.04)


def test_one_more_source_leaves_the_draws_of_the_others():
    np.testing.assert_array_equal(draws.normal(256, 3, 1), draws.normal(256, 9, 1)[:, :3])
    assert np.any(draws.normal(256, 3, 1) != draws.normal(256, 3, 2))


def test_a_share_stays_one_and_its_far_side_is_the_longer():
    made = draws.share(draws.normal(4096, 1, 1)[:, 0], 0.98, 0.01)
    low, high = draws.interval(made)
    assert made.max() < 1 and 0.98 - low > 1.5 * (high - 0.98)
    np.testing.assert_allclose(np.median(made), 0.98, rtol=1e-3)
    np.testing.assert_allclose(
        np.std(draws.share(draws.normal(4096, 1, 1)[:, 0], 0.5, 0.01)), 0.01, rtol=0.01
    )


def test_a_positive_quantity_keeps_median_and_u():
    made = draws.positive(draws.normal(1 << 15, 1, 1)[:, 0], 2.0, 0.2)
    np.testing.assert_allclose(np.median(made), 2.0, rtol=1e-3)
    np.testing.assert_allclose(np.std(made), 0.2, rtol=0.02)
    assert draws.positive(np.full(1, -8.0), 1.0, 0.9)[0] > 0


@pytest.mark.parametrize(
    "wrong", [(draws.share, 1.0, 0.01), (draws.share, 0.5, -0.1), (draws.positive, 0.0, 1.0)]
)
def test_what_is_no_share_and_no_quantity_is_refused(wrong):
    law, middle, u = wrong
    with pytest.raises(LawError):
        law(np.zeros(1), middle, u)
