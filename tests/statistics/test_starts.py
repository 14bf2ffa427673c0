"""How many to start: against enumeration, quadrature and other libraries' distributions."""

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import bdtrc, betaincinv, ndtr, ndtri
from scipy.stats import betabinom, binom, norm

from sagger.errors import LawError
from sagger.statistics import draws, starts

pytestmark = pytest.mark.outside("quadrature, enumeration and distributions of scipy; a sheet worked apart")

# One size within ± 0.3 %: 0.15 % shared by all pieces of an order, 0.1 % each piece's own.
LIMIT, SHARED, OWN = 0.3, 0.15, 0.1
EVEN = ndtri((np.arange(20_000) + 0.5) / 20_000)  # quantiles in the middle of equal shares


def of_one_size(shared, own=OWN, z=EVEN):
    return (ndtr((LIMIT - shared * z) / own) - ndtr((-LIMIT - shared * z) / own))[:, None]


def by_quadrature(started, needed):
    """P(at least `needed`), integrated over the shared deviation by scipy."""

    def at(z):
        q = ndtr((LIMIT - SHARED * z) / OWN) - ndtr((-LIMIT - SHARED * z) / OWN)
        return norm.pdf(z) * bdtrc(needed - 1, started, q)

    return sum(quad(at, start, start + 0.5, epsabs=1e-12)[0] for start in np.arange(-9, 9, 0.5))


@pytest.mark.parametrize("started", [101, 116, 120, 191, 517])
def test_enough_agrees_with_quadrature(started):
    np.testing.assert_allclose(
        starts.enough(of_one_size(SHARED), started, 100), by_quadrature(started, 100), atol=2e-6
    )


def test_row_29_to_31_one_size_by_quadrature_and_as_if_independent():
    """Chance .903908; at least 100 of 120 .826802; a binomial law would say .994909."""
    chances = of_one_size(SHARED)
    np.testing.assert_allclose(chances.mean(), 0.903908, atol=1e-6)
    np.testing.assert_allclose(by_quadrature(120, 100), 0.826802, atol=1e-6)
    np.testing.assert_allclose(starts.enough(chances, 120, 100), 0.826802, atol=2e-6)
    np.testing.assert_allclose(binom.sf(99, 120, chances.mean()), 0.994909, atol=1e-6)


def test_enough_agrees_with_draws_of_whole_orders():
    generator = np.random.default_rng(7)
    good = generator.binomial(120, of_one_size(SHARED, z=generator.standard_normal(400_000))[:, 0])
    share = np.mean(good >= 100)
    np.testing.assert_allclose(starts.enough(of_one_size(SHARED), 120, 100), share, atol=4 * 6e-4)


@pytest.mark.slow
@pytest.mark.parametrize(("sure", "started"), [(0.8, 116), (0.9, 142), (0.95, 191), (0.99, 517)])
def test_least_number_is_the_first_that_quadrature_finds_enough(sure, started):
    assert starts.least(of_one_size(SHARED), 100, sure).started == started
    assert by_quadrature(started - 1, 100) < sure <= by_quadrature(started, 100)


def test_a_binomial_over_the_mean_chance_promises_too_much():
    mean = of_one_size(SHARED).mean()
    assert binom.sf(99, 120, mean) > 0.99
    assert starts.enough(of_one_size(SHARED), 120, 100) < 0.83
    assert [starts.least(np.array([[mean]]), 100, sure).started for sure in (0.8, 0.95)] == [113, 117]


@pytest.mark.slow
@pytest.mark.parametrize(("shared", "started"), [(1e-9, 117), (0.05, 118), (0.1, 133), (0.18, None)])
def test_the_same_total_shared_more_needs_more_starts_until_none_is_enough(shared, started):
    own = np.sqrt(SHARED**2 + OWN**2 - shared**2)
    found = starts.least(of_one_size(shared, own), 100, 0.95)
    assert found.started == started
    assert (found.ceiling < 0.95) == (started is None)


def test_enough_is_beta_binomial_for_beta_chances():
    """Johnson, Kotz, Kemp: Univariate Discrete Distributions, beta-binomial; a 8, b 2, 8 good of 10."""
    chances = betaincinv(8, 2, (np.arange(20_000) + 0.5) / 20_000)[:, None]
    np.testing.assert_allclose(starts.enough(chances, 10, 8), betabinom.sf(7, 10, 8, 2), rtol=1e-6)
    np.testing.assert_allclose(betabinom.sf(7, 10, 8, 2), 0.667183, atol=1e-6)  # row 32


def test_least_number_of_pieces_that_share_nothing():
    """Row 33: 20 good at .9 each with 95 %: 25, by scipy's binomial law."""
    assert starts.least(np.array([[0.9]]), 20, 0.95).started == 25
    assert binom.sf(19, 24, 0.9) < 0.95 <= binom.sf(19, 25, 0.9)


def by_grid(spread, counts, needed):
    """P(at least `needed`) where each load has its own share: sums over grids of lot and of load."""
    z = np.linspace(-6.5, 6.5, 131)
    weight = norm.pdf(z) * (z[1] - z[0])
    lot, load = spread
    shared = lot * z[:, None] + load * z
    q = ndtr((LIMIT - shared) / OWN) - ndtr((-LIMIT - shared) / OWN)
    total = np.ones((len(z), 1))
    for count in counts:
        of_load = np.tensordot(binom.pmf(np.arange(count + 1), count, q[..., None]), weight, (1, 0))
        total = np.array([np.convolve(one, other) for one, other in zip(total, of_load, strict=True)])
    return weight @ total[:, needed:].sum(axis=1)


@pytest.mark.slow
def test_two_loads_by_quadrature():
    """Row 34: lot .12 % and load .09 %, so both .15 %, two loads of 60: .819281."""
    spread = (0.12, 0.09)
    truth = by_grid(spread, (60, 60), 100)
    np.testing.assert_allclose(truth, 0.819281, atol=5e-5)
    np.testing.assert_allclose(by_grid((SHARED, 0.0), (120,), 100), by_quadrature(120, 100), atol=1e-6)
    z = draws.normal(1 << 14, 3, 4)
    shared = spread[0] * z[:, :1] + spread[1] * z[:, 1:]
    chances = ndtr((LIMIT - shared) / OWN) - ndtr((-LIMIT - shared) / OWN)
    np.testing.assert_allclose(starts.enough(chances, 120, 100), truth, atol=2e-3)


@pytest.mark.parametrize(("started", "needed"), [(10, 4), (7, 7), (0, 1), (30, 29), (5, 0), (3, 9)])
def test_loads_are_convolved(started, needed):
    chances = np.random.default_rng(0).random((40, 3))
    chances[0], chances[1], chances[2] = (0.0, 1.0, 0.5), 1.0, 0.0
    counts = starts.spread(started, 3)
    assert counts.sum() == started
    expected = []
    for row in chances:
        total = np.ones(1)
        for chance, count in zip(row, counts, strict=True):
            total = np.convolve(total, binom.pmf(np.arange(count + 1), count, chance))
        expected.append(total[needed:].sum())
    np.testing.assert_allclose(starts.enough_by_draw(chances, started, needed), expected, atol=1e-12)


@pytest.mark.slow
def test_more_loads_help_a_sure_promise_and_hurt_a_thin_one():
    generator = np.random.default_rng(2)
    lots, loads = generator.standard_normal((20_000, 1)), generator.standard_normal((20_000, 2))

    def chances(loads):
        shared = 0.05 * lots + 0.14 * loads
        return ndtr((LIMIT - shared) / OWN) - ndtr((-LIMIT - shared) / OWN)

    one, two = chances(loads[:, :1]), chances(loads)
    assert starts.least(one, 100, 0.95).started > starts.least(two, 100, 0.95).started
    assert starts.enough(one, 120, 100) > starts.enough(two, 120, 100)


@pytest.mark.slow
def test_expected_missing_pieces_agree_with_draws():
    chances = of_one_size(SHARED)
    good = np.random.default_rng(3).binomial(110, chances[:, 0], (200, len(chances)))
    np.testing.assert_allclose(starts.missing(chances, 110, 100), np.maximum(100 - good, 0).mean(), rtol=0.01)


def test_a_second_start_makes_up_for_what_is_missing_as_often_as_in_draws_of_whole_orders():
    chances = of_one_size(SHARED, z=EVEN[::40])
    generator = np.random.default_rng(6)
    missing = np.maximum(100 - generator.binomial(105, chances[:, 0], (400, len(chances))), 0)
    again = generator.binomial(np.ceil(missing / chances.mean()).astype(int), chances[:, 0])
    share = np.mean(again >= missing)
    np.testing.assert_allclose(starts.made_up_by_draw(chances, 105, 100).mean(), share, atol=3e-3)
    assert share > starts.enough(chances, 105, 100) + 0.05


def test_second_starts_by_hand():
    """One of one at 1/2, then two for the missing one: 1/2 + 1/2 * 3/4. A load that fails spoils no other."""
    np.testing.assert_allclose(starts.made_up_by_draw(np.array([[0.5]]), 1, 1), [0.875], rtol=1e-12)
    np.testing.assert_allclose(starts.made_up_by_draw(np.array([[0.0, 1.0]]), 2, 2), [1.0], rtol=1e-12)
    np.testing.assert_allclose(starts.made_up_by_draw(np.array([[1.0, 0.0]]), 2, 2), [0.0], atol=1e-12)
    np.testing.assert_allclose(starts.made_up_by_draw(np.zeros((3, 1)), 4, 2), 0.0, atol=1e-12)


@pytest.mark.slow
def test_cheapest_number_lies_at_the_least_cost_of_all_numbers():
    chances, stakes = of_one_size(SHARED, z=EVEN[::40]), starts.Stakes(piece=10.0, missing=25.0, short=400.0)
    costs = [starts.cost(chances, started, 100, stakes) for started in range(200)]
    found = starts.cheapest(chances, 100, stakes)
    assert found == int(np.argmin(costs)) == 110
    np.testing.assert_allclose(min(costs), 1361.0, atol=6.0)


def test_coupons_narrow_what_pieces_share():
    """Bayes by hand: 1 / sqrt(1 / 0.15^2 + 5 / 0.1^2) = 0.042857."""
    left = starts.shared_after(SHARED, OWN, 5)
    np.testing.assert_allclose(left, 0.042857, atol=5e-7)
    np.testing.assert_allclose(of_one_size(left).mean(), 0.994174, atol=5e-6)
    assert starts.shared_after(SHARED, OWN, 0) == SHARED


@pytest.mark.parametrize("chances", [[[1.2]], [[-0.1]], [[np.nan]], np.empty((0, 1))])
def test_chances_that_are_none_are_refused(chances):
    with pytest.raises(LawError, match="between 0 and 1"):
        starts.enough(np.array(chances), 3, 2)


def test_a_sureness_of_one_is_refused():
    with pytest.raises(LawError, match="between 0 and 1"):
        starts.least(np.array([[0.9]]), 3, 1.0)


@pytest.mark.outside("binomial distribution, scipy")
def test_missing_pieces_of_each_draw_are_those_of_its_binomial():
    chances, good = np.array([[0.5], [0.83], [0.99]]), np.arange(40)
    wanted = [np.sum(binom.pmf(good, 52, chance) * (40 - good)) for chance in chances[:, 0]]
    np.testing.assert_allclose(starts.missing_by_draw(chances, 52, 40), wanted, rtol=1e-7, atol=1e-12)
