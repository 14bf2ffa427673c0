"""Lines of a drawing by joint draws against closed forms (check values of two independent means)."""

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import ndtri
from scipy.stats import norm, qmc

from sagger.errors import LawError
from sagger.statistics.lines import EACH, LEAST, MOST, RANGE, ROUND, ZONE, AskedFeatures, judged_lines

pytestmark = pytest.mark.outside("closed forms, quadrature, distributions of scipy: check values C4 to C28")


def drawn(columns, count=4096, seed=1):
    points = qmc.Sobol(columns, scramble=True, rng=seed).random(count)
    return ndtri(np.clip(points, 1e-12, 1 - 1e-12))


def features(*asked, starts=None, lines=None):
    """Of (rule, rows, lower, upper), with no bonus."""
    rule, rows, lower, upper = (np.array(column, dtype=float) for column in zip(*asked, strict=True))
    n = len(rule)
    return AskedFeatures(
        line=np.arange(n) if lines is None else np.array(lines), rule=rule.astype(np.int64),
        first=(np.cumsum(rows) - rows).astype(np.int64), end=np.cumsum(rows).astype(np.int64),
        lower=lower, upper=upper,
        bonus_row=np.full(n, -1), bonus_sign=np.zeros(n), bonus_from=np.zeros(n), bonus_most=np.zeros(n),
    )  # fmt: skip


def chance(rows, asked, own=None):
    own = np.zeros((1, rows.shape[1])) if own is None else own
    return judged_lines(rows, own, asked, np.zeros((len(own), len(asked.line))))


def test_c23_to_c25_position_of_an_axis_in_a_round_zone():
    """.864665 centred, .778505 off by .04, .883459 with unequal scatter: closed form, chi2, quadrature."""
    z = drawn(2, 2**16)
    round_zone = features((ROUND, 2, 0, 0.2))
    for rows, expected in (
        (0.05 * z, 0.864665),
        (0.05 * z + (0.04, 0), 0.778505),
        (z * (0.06, 0.03), 0.883459),
    ):
        np.testing.assert_allclose(chance(rows, round_zone).chance.mean(), expected, atol=1e-3)
    flat = features((ZONE, 2, 0, 0.2))  # a square zone of the same width holds more: a negative control
    assert chance(0.05 * z, flat).chance.mean() > 0.864665 + 0.01


def test_c26_position_with_the_bonus_of_maximum_material():
    """Zone .2, axis .05 each way, bore 8 +-.1 with sd .04: integral of p(u)(1 - exp(-(t+u)^2 / 8 s^2))."""
    s, t, half, sd = 0.05, 0.2, 0.1, 0.04
    inner = norm(half, sd)
    met, _ = quad(lambda u: inner.pdf(u) * (1 - np.exp(-((t + u) ** 2) / (8 * s * s))), 0, 2 * half)
    np.testing.assert_allclose(met, 0.969493, atol=1e-6)
    z = drawn(3, 2**16)
    rows = np.column_stack([sd * z[:, 2], s * z[:, :2]])
    asked = features((EACH, 1, -half, half), (ROUND, 2, 0, t))
    bonus = asked._replace(
        bonus_row=np.array([-1, 0]),
        bonus_sign=np.array([0.0, 1.0]),
        bonus_from=np.array([0.0, -half]),
        bonus_most=np.array([0.0, 2 * half]),
    )
    np.testing.assert_allclose(chance(rows, bonus).chance.mean(), met, atol=1e-3)
    assert chance(rows, asked).chance.mean() < met - 0.05  # without the bonus: a negative control


def test_c6_two_point_sizes_of_an_oval_bore_against_its_least_squares_one():
    """Bore 8 +-.05, factors along x and z off by sd .3 % each: two-point .926944, least squares .996784."""
    e = drawn(2, 2**15) * 0.003
    angle = np.arange(6) * np.pi / 6
    local = 8 * (e[:, :1] * np.cos(angle) ** 2 + e[:, 1:] * np.sin(angle) ** 2)
    two_point = chance(local, features((EACH, 6, -0.05, 0.05))).chance.mean()
    least_squares = chance(8 * e.mean(axis=1)[:, None], features((EACH, 1, -0.05, 0.05))).chance.mean()
    np.testing.assert_allclose(two_point, 0.926944, atol=1e-3)
    np.testing.assert_allclose(least_squares, 0.996784, atol=1e-3)
    assert abs(two_point - 0.996784) > 0.05  # two-point read as least squares: a negative control


def test_c27_outside_and_bore_under_one_bleed_are_met_together():
    """Outside 10 +-.05 and bore 4 +-.05 with b of sd .02: .788700 together, .622048 as a product."""
    b = drawn(1, 2**14) * 0.02
    found = chance(np.column_stack([2 * b, -2 * b]), features((EACH, 1, -0.05, 0.05), (EACH, 1, -0.05, 0.05)))
    np.testing.assert_allclose(found.chance.mean(), 0.788700, atol=1e-3)
    assert abs(np.prod(found.each) - 0.788700) > 0.1  # the product of singles: a negative control


@pytest.mark.slow
def test_c28_five_sizes_under_a_common_factor():
    """5 to 80 mm, +-.3 %, common .1 %, own .08 %: .930099 together; .907850 as a product."""
    lengths, rng = np.array([5.0, 10, 20, 40, 80]), drawn(6, 2**13)
    shared, own = 1e-3 * rng[:, :1] * lengths, 8e-4 * drawn(5, 512, 3) * lengths
    limits = [(EACH, 1, -3e-3 * length, 3e-3 * length) for length in lengths]
    found = chance(shared, features(*limits), own)
    np.testing.assert_allclose(found.chance.mean(), 0.930099, atol=4e-3)
    assert abs(np.prod(found.each) - 0.930099) > 0.015


def test_range_features_of_one_line_and_what_is_missed_alone():
    rows = np.array([[0.0, 0.3, 0.0, 0.1], [0.0, 0.1, 0.0, 0.3], [0.0, 0.1, 0.0, 0.1], [0.0, 0.3, 0.0, 0.3]])
    two = features((RANGE, 2, 0, 0.2), (RANGE, 2, 0, 0.2))
    one = features((RANGE, 2, 0, 0.2), (RANGE, 2, 0, 0.2), lines=[0, 0])
    apart, together = chance(rows, two), chance(rows, one)
    assert apart.chance.tolist() == together.chance.tolist() == [0, 0, 1, 0]
    assert apart.each.tolist() == [0.5, 0.5] and apart.alone.tolist() == [0.25, 0.25]
    assert together.each.tolist() == [0.25] and together.alone.tolist() == [0.75]


def test_c4_and_c5_an_inscribed_size_is_the_least_local_one():
    """Bore 8, sd .3 %: the plug is smaller by D s / sqrt(pi) = 13.5406 um, and so large is the roundness."""
    rows = 8 * 0.003 * drawn(2, 2**14)
    for limit in (-0.03, -0.0135406, 0.0):
        least = chance(rows, features((LEAST, 2, limit, 1.0))).chance.mean()
        most = chance(rows, features((MOST, 2, -1.0, -limit))).chance.mean()
        expected = norm.sf(limit / 0.024) ** 2  # both above it
        np.testing.assert_allclose((least, most), expected, atol=3e-3)
    np.testing.assert_allclose(-rows.min(axis=1).mean() * 1e3, 13.5406, atol=0.03)


def test_readings_that_lie_high_fail_and_shapes_must_fit():
    asked = features((EACH, 1, -0.1, 0.1), (ZONE, 1, 0, 0.2))
    own, read = np.zeros((2, 2)), np.array([[0.0, 0.0], [0.2, 0.0]])
    assert judged_lines(np.zeros((1, 2)), own, asked, read).chance.tolist() == [0.5]
    with pytest.raises(LawError, match="do not fit"):
        judged_lines(np.zeros((1, 3)), own, asked, read)


def test_pieces_taken_in_turn_and_the_chance_alone_are_the_same_pieces():
    rng = np.random.default_rng(5)
    shared, own, read = rng.normal(0, 0.05, (64, 7)), rng.normal(0, 0.05, (32, 7)), np.zeros((32, 4))
    asked = features((EACH, 2, -0.1, 0.1), (RANGE, 2, 0, 0.2), (ROUND, 2, 0, 0.3), (ZONE, 1, 0, 0.2))
    whole = judged_lines(shared, own, asked, read)
    alone = judged_lines(shared, own, asked, read, None, True)
    assert alone.chance.tolist() == whole.chance.tolist() and not alone.each.any()
    by_hand = [_good(row + one) for row in shared for one in own]
    np.testing.assert_allclose(whole.chance, np.reshape(by_hand, (64, 32)).mean(axis=1), rtol=1e-12)
    few = judged_lines(shared, own, asked, read, 8)
    taken = [_good(shared[row] + own[(8 * row + turn) % 32]) for row in range(64) for turn in range(8)]
    np.testing.assert_allclose(few.chance, np.reshape(taken, (64, 8)).mean(axis=1), rtol=1e-12)


def _good(v):
    each, zone = (np.abs(v[:2]) <= 0.1).all(), 2 * abs(v[6]) <= 0.2
    return bool(each and abs(v[2] - v[3]) <= 0.2 and 2 * np.hypot(v[4], v[5]) <= 0.3 and zone)
