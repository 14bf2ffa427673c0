"""What readings say of a powder whose law is known beforehand."""

import numpy as np
import pytest

from sagger.errors import LawError
from sagger.physics.burnout import arrhenius
from sagger.physics.sintering import densify, master_curve

TRUE_Q, TRUE_C = 440e3, float(np.log(0.42 / 0.015) / 1.077275e-12)


def runs(rates=(2, 5, 10, 20), offsets=(0, 0, 0, 0)):
    """Dilatometer runs of a body that obeys the law, 25 to 1950 degC, thermocouples off by `offsets`."""
    made = []
    for rate, off in zip(rates, offsets, strict=False):
        kelvin = np.linspace(298.15, 2223.15, 2000)
        time = (kelvin - 298.15) / rate * 60
        decay = TRUE_C * arrhenius.work(time, kelvin, TRUE_Q)
        made.append((time, kelvin + off, densify.densified(0.58, decay)))
    return made


def coupon(degc, hold_min, off=0.0):
    up = (degc - 25) / 5 * 60
    time, kelvin = np.array([0, up, up + hold_min * 60]), np.array([298.15, degc + 273.15, degc + 273.15])
    density = densify.densified(0.58, TRUE_C * arrhenius.work(time, kelvin, TRUE_Q)[-1])
    return master_curve.FiredCoupon(time, kelvin, 0.58, float(density) + off, 0.003)


@pytest.mark.slow
@pytest.mark.nature
def test_exact_runs_give_energy_and_speed_back():
    """440 kJ/mol and c 3.0932e12 K/s, computed apart."""
    found = master_curve.from_runs(runs(), 3.0)
    np.testing.assert_allclose(found.energy, 440e3, rtol=1e-3)
    np.testing.assert_allclose(np.log(found.speed), np.log(3.0932e12), rtol=1e-3)
    assert found.misfit < 1e-5


@pytest.mark.slow
def test_thermocouples_off_by_their_u_are_covered():
    """Twenty made-up shops: the truth lies within two u in at least 17, and u is not idly wide."""
    draw = np.random.default_rng(7)
    off = []
    for _ in range(20):
        found = master_curve.from_runs(runs(offsets=draw.normal(0, 4, 4)), 4.0)
        off.append((found.energy - TRUE_Q) / found.energy_u)
    assert np.sum(np.abs(off) < 2) >= 17 and np.std(off) > 0.3


@pytest.mark.slow
def test_speed_at_the_pivot_hardly_depends_on_the_energy():
    found = master_curve.from_runs(runs(offsets=(6, -4, 5, -6)), 4.0)
    right = np.log(TRUE_C) - TRUE_Q / (8.314462618 * found.pivot)
    assert abs(found.log_speed - right) < 3 * found.log_speed_u < 0.3


@pytest.mark.nature
def test_sigmoid_readings_give_the_sigmoid_back():
    kelvin = np.linspace(1200, 2200, 3000)
    made = []
    for rate in (2, 10):
        time = (kelvin - 1200) / rate * 60
        with np.errstate(divide="ignore"):
            log = np.log(arrhenius.work(time, kelvin, TRUE_Q))
        made.append((time, kelvin, 0.58 + 0.42 / (1 + np.exp(-np.clip(log + 28, -60, 60) / 1.2))))
    found = master_curve.sigmoid(made, TRUE_Q)
    np.testing.assert_allclose([found.centre, found.width], [-28, 1.2], rtol=2e-3)
    assert found.misfit < 1e-3


def test_coupons_of_one_firing_tell_the_speed_and_leave_the_energy():
    found = master_curve.from_coupons([coupon(1550, 60)] * 3, 400e3, 30e3)
    np.testing.assert_allclose([found.energy, found.energy_u], [400e3, 30e3], rtol=1e-6)
    at_peak = np.log(TRUE_C) - TRUE_Q / (8.314462618 * found.pivot)
    assert abs(found.log_speed - at_peak) < 0.12 and found.misfit < 1e-6


@pytest.mark.nature
def test_coupons_of_several_peaks_move_the_energy():
    fired = [coupon(1450, 60), coupon(1500, 120), coupon(1550, 60), coupon(1600, 20)]
    found = master_curve.from_coupons(fired, 350e3, 200e3)
    np.testing.assert_allclose(found.energy, 440e3, rtol=0.01)
    assert found.energy_u < 20e3 and found.misfit < 1e-3


def test_scatter_beyond_the_stated_u_widens():
    calm = [coupon(1500, 60, off) for off in (0.003, -0.003, 0.0)]
    wild = [coupon(1500, 60, off) for off in (0.03, -0.03, 0.0)]
    one, other = (master_curve.from_coupons(each, 440e3, 0.0) for each in (calm, wild))
    assert other.log_speed_u > 5 * one.log_speed_u


def test_nonsense_is_refused():
    with pytest.raises(LawError, match="two heating rates"):
        master_curve.from_runs(runs()[:1], 3.0)
    with pytest.raises(LawError, match="in common"):
        early, late = runs()[0], runs()[1]
        master_curve.from_runs([tuple(a[:900] for a in early), late], 3.0)
    with pytest.raises(LawError, match="get denser"):
        master_curve.from_coupons([coupon(1550, 60)._replace(density=0.5)], 440e3, 0.0)
