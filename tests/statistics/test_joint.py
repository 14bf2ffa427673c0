"""The whole piece: against Genz's integral of the normal distribution over a box, by scipy."""

import numpy as np
import pytest
from scipy.stats import multivariate_normal, norm

from sagger.errors import LawError
from sagger.statistics.joint import Limits, judged

pytestmark = pytest.mark.outside("Genz's integral of the normal distribution over a box, by scipy")


def box_chance(covariance, half):
    normal = multivariate_normal(np.zeros(len(half)), covariance, allow_singular=True)
    return normal.cdf(half, lower_limit=-np.asarray(half), rng=np.random.default_rng(5))


def drawn(levers, count, seed):
    return np.random.default_rng(seed).standard_normal((count, len(levers))) @ levers


def test_the_whole_piece_agrees_with_genz_and_not_with_the_product():
    shared, own = np.array([[0.3, 0.5, 0.4], [0.2, -0.1, 0.3]]), np.diag([0.2, 0.3, 0.1])
    half = np.array([0.6, 0.9, 0.7])
    truth = box_chance(shared.T @ shared + own.T @ own, half)
    found = judged(drawn(shared, 4000, 1), drawn(own, 500, 2), Limits(-half, half))
    assert found.chance.shape == (4000,)
    np.testing.assert_allclose(found.chance.mean(), truth, atol=0.01)
    singles = norm.cdf(half / np.sqrt((shared**2).sum(0) + np.diag(own) ** 2)) * 2 - 1
    np.testing.assert_allclose(found.each, singles, atol=0.012)
    assert np.prod(singles) < truth - 0.05


def test_an_outside_and_a_bore_under_one_bleed_fail_on_opposite_sides():
    """Bleed makes outsides larger and bores smaller: the levers have opposite signs, the draw is one."""
    levers = np.array([[0.1, -0.1]])
    found = judged(drawn(levers, 20_000, 3), np.zeros((1, 2)), Limits(np.full(2, -0.1), np.full(2, 0.1)))
    np.testing.assert_allclose(found.chance.mean(), 0.6827, atol=0.013)
    one_sided = judged(drawn(levers, 20_000, 3), np.zeros((1, 2)), Limits(np.full(2, -0.1), np.full(2, 9.0)))
    np.testing.assert_allclose(one_sided.chance.mean(), 0.6827, atol=0.013)
    np.testing.assert_allclose(one_sided.alone, 0.1587, atol=0.01)


def test_counts_agree_with_plain_arrays():
    generator = np.random.default_rng(4)
    shared, own = generator.normal(size=(30, 5)), generator.normal(size=(20, 5))
    limits = Limits(np.full(5, -1.5), np.array([1.0, 2.0, np.inf, 1.5, 0.5]))
    deviation = shared[:, None] + own[None]
    inside = (deviation >= limits.lower) & (deviation <= limits.upper)
    found = judged(shared, own, limits)
    np.testing.assert_allclose(found.chance, inside.all(axis=2).mean(axis=1), rtol=1e-12)
    np.testing.assert_allclose(found.each, inside.mean(axis=(0, 1)), rtol=1e-12)
    only = ~inside & (inside.sum(axis=2, keepdims=True) == 4)
    np.testing.assert_allclose(found.alone, only.mean(axis=(0, 1)), rtol=1e-12)


def test_a_limit_itself_is_inside():
    zero = np.zeros((1, 1))
    assert judged(zero, zero, Limits(np.zeros(1), np.zeros(1))).chance[0] == 1.0


@pytest.mark.parametrize("own", [np.zeros((3, 4)), np.zeros((0, 3))])
def test_draws_that_do_not_fit_are_refused(own):
    with pytest.raises(LawError):
        judged(np.zeros((2, 3)), own, Limits(np.zeros(3), np.ones(3)))
