"""Burnout figures from runs made by an ODE solver: what went in comes back; noise shows in the u given."""

import functools

import numpy as np
import pytest
from scipy.constants import R
from scipy.integrate import solve_ivp

from sagger.errors import LawError
from sagger.physics.burnout import tga

ENERGY, PEAK = 199e3, 643.15
FREQUENCY = 10 / 60 * ENERGY / (R * PEAK**2) * np.exp(ENERGY / (R * PEAK))
LOW, HIGH = 500.0, 780.0


@functools.cache
def solved(rate, order):
    beta = rate / 60

    def slope(kelvin, gone):
        return FREQUENCY / beta * np.exp(-ENERGY / (R * kelvin)) * (1 - gone) ** order

    kelvin = np.linspace(400, 800, 1500)
    found = solve_ivp(slope, (400, 800), [0.0], t_eval=kelvin, rtol=1e-9, atol=1e-12, method="LSODA")
    return (kelvin - 400) / beta, kelvin, found.y[0]


def steps(order=1.0, noise=0.0, rates=(2, 5, 10, 20)):
    made = []
    for seed, rate in enumerate(rates):
        time, kelvin, gone = solved(rate, order)
        mass = 25 * (1 - 0.02 * gone) + np.random.default_rng(seed).normal(0, noise, len(time))
        made.append(tga.step(tga.BalanceRun(time, kelvin, mass), LOW, HIGH))
    return made


@pytest.mark.nature
def test_energy_frequency_and_peak_of_a_first_order_step_come_back():
    found = tga.evaluate(steps())
    np.testing.assert_allclose(found.master.energy.value, ENERGY, rtol=1e-3)
    np.testing.assert_allclose(found.master.log_frequency, np.log(FREQUENCY), rtol=0, atol=0.02)
    np.testing.assert_allclose(tga.peak_at(found.master, 10 / 60)[0], PEAK, rtol=0, atol=0.1)
    np.testing.assert_allclose(found.kissinger.value, ENERGY, rtol=5e-3)
    np.testing.assert_allclose([kas.value for _, _, kas, _ in found.by_level], ENERGY, rtol=5e-3)
    assert found.misfit < 0.005 and found.drift < 0.01


def test_heating_rates_and_loss_are_read_off_the_runs():
    found = steps()
    np.testing.assert_allclose([each.heating * 60 for each in found], [2, 5, 10, 20], rtol=1e-6)
    np.testing.assert_allclose([each.lost for each in found], 0.02, rtol=1e-3)


@pytest.mark.nature
def test_a_second_order_step_has_its_energy_and_is_told_apart():
    found = tga.evaluate(steps(order=2.0))
    np.testing.assert_allclose(found.master.energy.value, ENERGY, rtol=5e-3)
    assert found.master.order_slope < 0.85 and found.misfit > 0.1


@pytest.mark.parametrize("noise", [0.0005, 0.002])
def test_noise_widens_the_uncertainty_and_the_truth_stays_within_it(noise):
    found = tga.evaluate(steps(noise=noise)).master.energy
    quiet = tga.evaluate(steps()).master.energy
    assert quiet.u < found.u < 0.05 * ENERGY
    assert abs(found.value - ENERGY) < 3 * found.u


@pytest.mark.parametrize("rates", [(5, 10), (8, 9, 10)])
def test_too_few_or_too_equal_runs_are_refused(rates):
    with pytest.raises(LawError, match="three runs"):
        tga.evaluate(steps(rates=rates))


def test_a_run_that_loses_nothing_or_is_too_short_is_refused():
    time, kelvin, _ = solved(10, 1.0)
    with pytest.raises(LawError, match="loses nothing"):
        tga.step(tga.BalanceRun(time, kelvin, np.full(len(time), 25.0)), LOW, HIGH)
    with pytest.raises(LawError, match="rows"):
        tga.step(tga.BalanceRun(time, kelvin, np.full(len(time), 25.0)), LOW, LOW + 1)
