"""Promises against what an invented shop then makes: as often kept as was said, before and after coupons."""

import pytest
from scipy.stats import binom

import promise_shop as shop

pytestmark = pytest.mark.slow
ORDERS = 400


@pytest.mark.parametrize("sure", [0.8, 0.95])
def test_orders_are_kept_as_often_as_was_promised(sure):
    piece, share = shop.kept(sure, ORDERS)
    low, high = binom.ppf([0.005, 0.995], ORDERS, sure) / ORDERS
    # the least number is whole, so a promise may be a little surer than asked
    assert low <= share <= high + 0.03
    assert piece.low < piece.chance < piece.high


def test_after_coupons_the_chance_is_narrower_and_still_true():
    before, _ = shop.kept(0.9, ORDERS)
    after, share = shop.kept(0.9, ORDERS, coupons=True)
    assert after.least < before.least and after.chance > before.chance
    assert after.high - after.low < before.high - before.low
    assert share >= binom.ppf(0.005, ORDERS, 0.9) / ORDERS


def test_a_binomial_over_the_mean_chance_would_be_broken_too_often():
    """Negative control: the number that forgets what pieces share keeps far fewer orders than it says."""
    from sagger.statistics import starts

    piece = shop.stated(0.95)
    forgetful = starts.least(piece.chances.mean(keepdims=True), shop.ASKED, 0.95).started
    generator = shop.np.random.default_rng(2)
    share = sum(shop.good_ones(generator, forgetful, False) >= shop.ASKED for _ in range(ORDERS)) / ORDERS
    assert forgetful < piece.least and share < binom.ppf(0.005, ORDERS, 0.95) / ORDERS
