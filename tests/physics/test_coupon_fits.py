"""Fits of coupons: what was put in is found again, with a doubt that covers it."""

import numpy as np
import pytest
from scipy.optimize import curve_fit

from sagger.errors import LawError
from sagger.physics.drops import coupon_fits, wetting

SIZES = np.repeat([3e-3, 6e-3, 12e-3, 24e-3], 4)


def test_bleed_and_scale_are_told_apart():
    rng = np.random.default_rng(1)
    measured = SIZES + 2 * 25e-6 + 0.004 * SIZES + rng.normal(0, 5e-6, SIZES.size)
    fit = coupon_fits.bleed(SIZES, measured)
    assert abs(fit.reach - 25e-6) < 3 * fit.reach_u < 10e-6
    assert abs(fit.scale - 0.004) < 3 * fit.scale_u
    assert fit.p < 1e-6


@pytest.mark.outside("scipy.optimize.curve_fit")
def test_bleed_agrees_with_a_reference_library():
    rng = np.random.default_rng(2)
    measured = SIZES * 1.003 + 40e-6 + rng.normal(0, 8e-6, SIZES.size)
    fit = coupon_fits.bleed(SIZES, measured)
    found, spread = curve_fit(lambda x, a, b: a + b * x, SIZES, measured - SIZES)  # scipy
    np.testing.assert_allclose([2 * fit.reach, fit.scale], found, rtol=1e-5)
    np.testing.assert_allclose([2 * fit.reach_u, fit.scale_u], np.sqrt(np.diag(spread)), rtol=1e-5)


def test_one_end_bleeds_in_height():
    line = SIZES + 60e-6 + np.tile([1e-7, -1e-7], 8)
    both, one = coupon_fits.bleed(SIZES, line), coupon_fits.bleed(SIZES, line, sides=1)
    np.testing.assert_allclose(one.reach, 2 * both.reach, rtol=1e-12)


def test_coupons_of_one_size_say_nothing():
    with pytest.raises(LawError, match="three sizes"):
        coupon_fits.bleed([5e-3] * 4, [5.01e-3] * 4)


def rung(at, noise, seed=3):
    s, length = (
        each.ravel() for each in np.meshgrid(np.linspace(0.5, 1.1, 7), [4e-3, 8e-3, 16e-3], indexing="ij")
    )
    pairs = zip(s, length, strict=True)
    surplus = np.array([2 * wetting.square_bleed(max(each, at), at, size) for each, size in pairs])
    noisy = np.random.default_rng(seed).normal(0, noise, s.size)
    return s, length, length * 1.002 + 2 * 15e-6 + surplus + noisy


@pytest.mark.parametrize("at", [0.65, 0.8, 0.95])
@pytest.mark.nature
def test_the_saturation_that_the_bed_holds_is_found_again(at):
    fit = coupon_fits.held(*rung(at, 5e-6))
    assert abs(fit.saturation - at) < 0.01 and 0 < fit.u < 0.02
    assert abs(fit.reach - 15e-6) < 5e-6 and abs(fit.scale - 0.002) < 1e-3


def test_a_ladder_too_short_shows_no_surplus():
    assert coupon_fits.held(*rung(1.2, 5e-6)).saturation is None


@pytest.mark.nature
def test_suction_curve_is_found_again():
    pressure = np.geomspace(1e3, 6e4, 25)
    curve = np.array([wetting.equilibrium_saturation(p, 4e3, 1.4, 0.08) for p in pressure])
    fit = coupon_fits.suction(pressure, curve + np.random.default_rng(4).normal(0, 0.003, 25))
    found = (fit.entry, fit.exponent, fit.residual)
    u = (fit.entry_u, fit.exponent_u, fit.residual_u)
    for value, true, doubt in zip(found, (4e3, 1.4, 0.08), u, strict=True):
        assert abs(value - true) < 4 * doubt < 0.3 * true
