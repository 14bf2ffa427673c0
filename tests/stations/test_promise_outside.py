"""The promise's own draws against worked examples of JCGM 101, 102 and 106, and checks that wrong ways fail.

JCGM 101:2008, 9.2 to 9.4, and JCGM 106:2012 from memory; JCGM 101:2008, 9.5 with results second hand and
inputs from memory; JCGM 102:2011, 9.2 and 9.4 second hand, as asserted in public tests of other programs.
Rows are those of a sheet worked out apart from this code, by two means.
"""

import numpy as np
import pytest
from scipy.special import ndtr
from scipy.stats import multivariate_normal, ncx2, t

import furnace_goods as hand
from sagger.goods.order import Choices
from sagger.stations.promise import edges_doubt, raising, sampled
from sagger.stations.promise.edges_doubt import Ends, SizeLengths
from sagger.stations.promise.source import LOT, PIECE, SHOP, Doubted, DoubtSource, Lying, Room, even, normal
from sagger.statistics import draws as worlds_of
from sagger.statistics import starts, tolerance

pytestmark = pytest.mark.outside("worked examples of JCGM 101, 102 and 106; the laws of scipy")


def sums(levers, levels, ways, half):
    """One size, the sum of so many sources, within ± half."""
    sources = tuple(
        DoubtSource(f"x{row}", f"x{row}", level, np.array([float(lever)]), way)
        for row, (lever, level, way) in enumerate(zip(levers, levels, ways, strict=True))
    )
    return one(sources, np.zeros(1), np.array([half]))


def one(sources, expected, half, gauge=0.0):
    names = tuple("xyz"[: len(half)])
    nominal = np.zeros(len(half))
    room = Room(names, np.arange(len(half)), nominal, nominal - half, nominal + half)
    return Doubted(0, room, (Lying(0, 1.0, expected, nominal, sources),), gauge)


def chance(part):
    return sampled.verdict(part, sampled.draw([part], 1, 1)).chance.mean()


@pytest.mark.parametrize("levels", [[SHOP] * 4, [SHOP, LOT, PIECE, PIECE]])
@pytest.mark.parametrize(
    ("levers", "way", "half"),
    [([1, 1, 1, 1], normal, 3.92), ([1, 1, 1, 1], even, 3.88), ([1, 1, 1, 10], even, 17.0)],
)
def test_jcgm_101_9_2_sums_lie_inside_their_intervals_with_95_percent(levers, way, half, levels):
    """9.2.2 to 9.2.4: the interval of 95 % of four normal, of rectangular of like and unlike width."""
    part = sums(levers, levels, [way] * 4, half)
    np.testing.assert_allclose(chance(part), 0.95, atol=4e-3)
    spread = sampled.variances(part.lying[0])
    np.testing.assert_allclose(sum(spread.values()), np.square(levers).sum(), rtol=1e-12)


def test_a_rectangular_doubt_taken_as_normal_would_be_seen():
    """Negative control of 9.2.4: by the normal law the interval would be ± 19.9."""
    with pytest.raises(AssertionError):
        test_jcgm_101_9_2_sums_lie_inside_their_intervals_with_95_percent(
            [1, 1, 1, 10], normal, 17.0, [SHOP] * 4
        )


def drawn_already(rows, half):
    """Sizes whose deviations come as draws of a law, about their mean."""
    mean = rows.mean(axis=0)
    source = DoubtSource("law", "law", SHOP, rows.std(axis=0), worlds=rows - mean)
    return one((source,), np.zeros(len(mean)), half)


def test_jcgm_101_9_3_mass_through_worlds_of_a_law():
    """u 0.0754 mg and the interval 1.0834 to 1.3825 mg about 1.2340 mg."""
    z = worlds_of.normal(sampled.SHARED, 5, 1)
    flat = lambda column, low, high: low + (high - low) * ndtr(z[:, column])  # noqa: E731
    mass = 100_000.0 + 0.05 * z[:, 0] + 1.234 + 0.02 * z[:, 1]
    off = mass * (1 + (flat(2, 1.1, 1.3) - 1.2) * (1 / flat(3, 7e3, 9e3) - 1 / flat(4, 7.95e3, 8.05e3))) - 1e5
    part = drawn_already(off[:, None], np.array([(1.3825 - 1.0834) / 2]))
    np.testing.assert_allclose(np.sqrt(sampled.variances(part.lying[0])["law"]), 0.0754, atol=5e-4)
    np.testing.assert_allclose(chance(part), 0.95, atol=4e-3)


@pytest.mark.parametrize(
    ("x", "r", "u"), [(0.0, 0.0, 50e-6), (0.0, 0.9, 67e-6), (0.010, 0.0, 112e-6), (0.010, 0.9, 121e-6)]
)
def test_jcgm_101_9_4_comparison_loss_is_far_from_normal(x, r, u):
    """Loss x1^2 + x2^2 with u 0.005 each: printed u; for r = 0 the closed form, noncentral chi squared."""
    z = worlds_of.normal(1 << 15, 2, 1) @ np.linalg.cholesky(np.array([[1, r], [r, 1]])).T
    loss = (x + 0.005 * z[:, 0]) ** 2 + (0.005 * z[:, 1]) ** 2
    np.testing.assert_allclose(loss.mean(), x**2 + 50e-6, rtol=0.01)
    np.testing.assert_allclose(loss.std(), u, rtol=0.02)
    if r == 0:
        ends = 0.005**2 * ncx2.ppf([0.025, 0.975], 2, (x / 0.005) ** 2)
        np.testing.assert_allclose(worlds_of.interval(loss), ends, rtol=0.03)


def test_jcgm_101_9_4_worlds_keep_the_shape_of_their_law():
    """Loss at 0.010: 95 % below its quantile, which the normal law would put 25 % too low."""
    z = worlds_of.normal(sampled.SHARED, 2, 1)
    loss = 1e6 * ((0.010 + 0.005 * z[:, 0]) ** 2 + (0.005 * z[:, 1]) ** 2)
    upper = 25 * ncx2.ppf(0.95, 2, 4.0)
    part = drawn_already(loss[:, None], np.array([np.inf]))
    room = part.room._replace(lower=np.array([-np.inf]), upper=np.array([upper - loss.mean()]))
    np.testing.assert_allclose(chance(part._replace(room=room)), 0.95, atol=5e-3)


def gauge_block(z):
    """Length beyond 50 mm [nm] by nine inputs: t laws, normal, arc sine, rectangle, curved trapezia."""
    student = lambda column, middle, u, n: middle + u * t.ppf(ndtr(z[:, column]), n)  # noqa: E731
    curved = lambda column, half, off: (  # noqa: E731
        (half + off * (2 * ndtr(z[:, column + 1]) - 1)) * (2 * ndtr(z[:, column]) - 1)
    )
    standard, seen = student(0, 50_000_623.0, 25.0, 18), student(1, 215.0, 6.0, 24)
    wrong = student(2, 0.0, 4.0, 5) + student(3, 0.0, 7.0, 8)
    expansion = 11.5e-6 + 2e-6 * (2 * ndtr(z[:, 4]) - 1)
    warm = -0.1 + 0.2 * z[:, 5] + 0.5 * np.cos(np.pi * ndtr(z[:, 6]))
    heat = curved(7, 1e-6, 0.1e-6) * warm + expansion * curved(9, 0.05, 0.025)
    return standard * (1 - heat) + seen + wrong - 50e6


def test_jcgm_101_9_5_gauge_block_through_worlds_of_a_law():
    """838 nm, u 36 nm, 99 % from 745 to 932 nm."""
    length = gauge_block(worlds_of.normal(1 << 15, 11, 1))
    np.testing.assert_allclose(length.mean(), 838.0, atol=0.6)
    np.testing.assert_allclose(worlds_of.interval(length, 0.99), (745, 932), atol=3.0)
    part = drawn_already(gauge_block(worlds_of.normal(sampled.SHARED, 11, 1))[:, None], np.array([93.5]))
    np.testing.assert_allclose(np.sqrt(sampled.variances(part.lying[0])["law"]), 36.0, atol=0.6)
    np.testing.assert_allclose(chance(part), 0.99, atol=3e-3)


@pytest.mark.parametrize(("common", "r"), [(1.0, 0.5), (3.0, 0.9)])
def test_jcgm_102_9_2_two_sums_with_a_common_part(common, r):
    """9.2.2 and 9.2.4: y1 = x1 + x3, y2 = x2 + x3; covariances 2, 1 and 10, 9; both inside against Genz."""
    sources = (
        DoubtSource("x1", "x1", PIECE, np.array([1.0, 0.0])),
        DoubtSource("x2", "x2", PIECE, np.array([0.0, 1.0])),
        DoubtSource("x3", "x3", SHOP, np.array([common, common])),
    )
    u = np.sqrt(1 + common**2)
    part = one(sources, np.zeros(2), np.full(2, 2.0 * u))
    draws = sampled.draw([part], 1, 1)
    ((shared, own),) = sampled._deviations(part.lying[0], draws)
    covariance = np.cov(shared.T) + np.cov(own.T)
    np.testing.assert_allclose(covariance, np.array([[1, r], [r, 1]]) * u**2, rtol=0.03)
    both = multivariate_normal(np.zeros(2), [[1, r], [r, 1]])
    genz = both.cdf([2.0, 2.0], lower_limit=[-2.0, -2.0], rng=np.random.default_rng(1))
    np.testing.assert_allclose(chance(part), genz, atol=4e-3)


READ = np.array(  # JCGM 102:2011, 9.4: volts, amperes, radians
    [
        [5.007, 19.663e-3, 1.0456], [4.994, 19.639e-3, 1.0438], [5.005, 19.640e-3, 1.0468],
        [4.990, 19.685e-3, 1.0428], [4.999, 19.678e-3, 1.0433], [4.999, 19.661e-3, 1.0445],
    ]
)  # fmt: skip


def test_jcgm_102_9_4_resistance_and_reactance_move_together():
    """R 127.732, X 219.847, Z 254.260 ohm; u 0.058, 0.241, 0.193; r -0.588, -0.485, 1 - 0.00749."""
    mean, spread = READ.mean(axis=0), np.cov(READ.T, ddof=0) / 5
    v, i, phi = (mean + worlds_of.normal(sampled.SHARED, 3, 1) @ np.linalg.cholesky(spread).T).T
    rows = np.column_stack([v / i * np.cos(phi), v / i * np.sin(phi), v / i])
    np.testing.assert_allclose(rows.mean(axis=0), [127.732, 219.847, 254.260], atol=2e-3)
    u = np.array([0.058, 0.241, 0.193])
    part = drawn_already(rows, 2 * u)
    np.testing.assert_allclose(np.sqrt(sampled.variances(part.lying[0])["law"]), u, rtol=0.02)
    ((shared, _),) = sampled._deviations(part.lying[0], sampled.draw([part], 1, 1))
    r = np.corrcoef(shared.T)
    np.testing.assert_allclose([r[0, 1], r[0, 2], r[1, 2]], [-0.588, -0.485, 0.99251], atol=0.02)
    both = multivariate_normal(np.zeros(2), np.cov(rows[:, :2].T))
    genz = both.cdf(2 * u[:2], lower_limit=-2 * u[:2], rng=np.random.default_rng(1))
    np.testing.assert_allclose(chance(drawn_already(rows[:, :2], 2 * u[:2])), genz, atol=6e-3)


def with_gauge():
    """Rows 40 to 42: a size within 0.04, scatter 0.02, readings 0.005."""
    part = one((DoubtSource("own", "own", SHOP, np.array([0.02])),), np.zeros(1), np.array([0.04]), 0.005)
    return sampled.verdict(part, sampled.draw([part], 1, 1))


def slips_by_genz(guard):
    """P(read inside the guarded limits and true outside), by the bivariate normal law."""
    true, read = 0.02, np.hypot(0.02, 0.005)
    both = multivariate_normal(np.zeros(2), [[true**2, true**2], [true**2, read**2]])
    ends = np.array([0.04, 0.04 - guard])
    inside = both.cdf(ends, lower_limit=-ends, rng=np.random.default_rng(1))
    return 2 * ndtr(ends[1] / read) - 1 - inside


@pytest.mark.parametrize(("factor", "passed", "slipped"), [(1.65, 0.876464, None), (0.0, 0.947655, 0.008006)])
def test_pieces_that_pass_though_they_are_bad(factor, passed, slipped, monkeypatch):
    """Rows 40 to 42 (global risks, JCGM 106:2012, 9.5); guarded against the bivariate normal law."""
    monkeypatch.setattr(sampled, "GUARD", factor)
    found = with_gauge()
    truth = slips_by_genz(factor * 0.005)
    if slipped is not None:
        np.testing.assert_allclose(truth, slipped, atol=2e-6)
    np.testing.assert_allclose(found.passed.mean(), passed, atol=4e-3)
    np.testing.assert_allclose(found.slipped.mean(), truth, atol=8e-4)
    assert factor == 0 or found.slipped.mean() < 2e-3


def test_what_a_piece_has_of_each_size_is_judged_in_the_same_draw():
    """A piece slips if it passes in every size and fails in one: counted with plain arrays."""
    generator = np.random.default_rng(3)
    shared, own, read = (generator.normal(size=(rows, 3)) for rows in (20, 30, 30))
    limits = sampled.Limits(np.full(3, -1.5), np.array([1.0, 2.0, 1.5]))
    true = shared[:, None] + own
    good = ((true >= limits.lower) & (true <= limits.upper)).all(axis=2)
    seen = true + 0.3 * read
    inside = (seen >= limits.lower + 0.2) & (seen <= limits.upper - 0.2)
    found = sampled.benched(shared, own, 0.3 * read, limits, 0.2)
    np.testing.assert_allclose(found.true.chance, good.mean(axis=1), rtol=1e-12)
    np.testing.assert_allclose(found.passed, inside.all(axis=2).mean(axis=1), rtol=1e-12)
    np.testing.assert_allclose(found.slipped, (inside.all(axis=2) & ~good).mean(axis=1), rtol=1e-12)
    np.testing.assert_allclose(found.each_passed, inside.mean(axis=(0, 1)), rtol=1e-12)
    alone = sampled.judged(shared, own, limits)
    np.testing.assert_allclose(found.true.alone, alone.alone, rtol=1e-12)
    np.testing.assert_allclose(found.true.each, alone.each, rtol=1e-12)


def test_stock_for_a_cut_face():
    """Row 39: chip .1, bow .2, u .15, 99 %: .648952 mm; by draws .649469."""
    np.testing.assert_allclose(tolerance.stock(0.1, 0.2, 0.15, 0.99), 0.648952, atol=1e-6)
    lying = one((DoubtSource("u", "u", LOT, np.array([0.15])),), np.zeros(1), np.ones(1)).lying[0]
    stock = raising._stock(lying._replace(bow=0.2), 0, 0.0, 0.1, 0.99)
    np.testing.assert_allclose(stock, 0.648952, atol=1e-6)
    places = stock - 0.2 + 0.15 * np.random.default_rng(1).standard_normal(200_000)
    np.testing.assert_allclose(np.mean(places >= 0.1), 0.99, atol=1e-3)


@pytest.mark.parametrize("wrong", [(0.1, 0.2, 0.15, 1.0), (-0.1, 0.2, 0.15, 0.9), (0.1, 0.2, -0.15, 0.9)])
def test_stock_of_nothing_is_refused(wrong):
    with pytest.raises(Exception, match="expected"):
        tolerance.stock(*wrong)


def lattice_um(left, by_place=False):
    """Scatter of a green size that is 100 drops of 63.5 um and so much of one more [um]."""
    size = 63.5e-3 * (100 + left)
    part = hand.green(hand.part(size=(size, 20.0, 12.5)), hand.factors((1.0, 1.0, 1.0), origin="ledger 1"))
    ends = Ends(part, SizeLengths(np.arange(3), np.array([size, 20.0, 12.5])), np.arange(3), 0, STACK)
    found = list(edges_doubt._lattice(ends, Choices(by_place=by_place)))
    return 1e3 * sum(source.lever[0] for source in found)


STACK = hand.build((hand.green(),)).stack
ROWS = [(0.0, 0.0), (0.25, 27.4963), (0.5, 31.75)]


@pytest.mark.parametrize(("left", "wanted"), ROWS)
def test_a_size_scatters_by_its_own_share_of_a_drop(left, wanted):
    """Rows 9 to 11: p sqrt(f (1 - f)), p 63.5 um."""
    np.testing.assert_allclose(lattice_um(left), wanted, atol=1e-3)


def test_over_all_shares_of_a_drop_it_is_the_root_mean_square():
    """Row 12: p / sqrt(6) = 25.9238 um, which sizes by place have, each piece its own."""
    shares = (np.arange(200) + 0.5) / 200
    rms = np.sqrt(np.mean([lattice_um(left) ** 2 for left in shares]))
    np.testing.assert_allclose([rms, lattice_um(0.25, by_place=True)], 25.9238, rtol=2e-4)


# What must not be done: each of these, put in, fails a check above or in tests/statistics/test_starts.py.
@pytest.mark.parametrize("row", [0, 2])
def test_one_lattice_scatter_for_all_sizes_would_be_seen(row):
    left, wanted = ROWS[row]
    with pytest.raises(AssertionError):
        np.testing.assert_allclose(lattice_um(left, by_place=True), wanted, atol=1e-3)


def enough_of_one_size(part):
    """P(at least 100 good of 120), one size within 0.3 %, .15 % shared and .1 % own: .826802, quadrature."""
    found = sampled.verdict(part, sampled.draw([part], 1, 1))
    np.testing.assert_allclose(starts.enough(found.chance, 120, 100), 0.826802, atol=0.01)


def row_30(shared=SHOP):
    sources = (
        DoubtSource("shared", "shared", shared, np.array([0.15])),
        DoubtSource("own", "own", PIECE, np.array([0.1])),
    )
    return one(sources, np.zeros(1), np.array([0.3]))


def test_enough_good_ones_from_the_promises_own_draws():
    """Row 30."""
    enough_of_one_size(row_30())


def test_a_binomial_over_a_common_cause_would_be_seen(monkeypatch):
    by_draw = starts.enough_by_draw
    monkeypatch.setattr(starts, "enough_by_draw", lambda q, n, k: by_draw(np.mean(q, keepdims=True), n, k))
    with pytest.raises(AssertionError):
        enough_of_one_size(row_30())


def test_a_shared_doubt_drawn_for_each_piece_would_be_seen():
    with pytest.raises(AssertionError):
        enough_of_one_size(row_30(shared=PIECE))


def test_slips_left_out_would_be_seen(monkeypatch):
    """A bench that errs as the pieces do passes no bad one."""
    benched = sampled.benched

    def sure(shared, own, read, limits, guard):
        return benched(shared, own, np.zeros_like(read), limits, guard)

    monkeypatch.setattr(sampled, "benched", sure)
    monkeypatch.setattr(sampled, "GUARD", 0.0)
    with pytest.raises(AssertionError):
        np.testing.assert_allclose(with_gauge().slipped.mean(), 0.008006, atol=8e-4)
