"""Burnout along a path against integration by other means."""

import itertools

import numpy as np
import pytest
from scipy.constants import R
from scipy.integrate import solve_ivp

from sagger.errors import LawError
from sagger.physics.burnout import binder_loss

A = binder_loss.frequency(242e3, 708.15, 10 / 60)


@pytest.mark.outside("the ODE by scipy")
def test_share_gone_is_the_ode():
    time, kelvin = np.array([0, 6000, 9000, 9600.0]), np.array([298.15, 650, 650, 700])

    def slope(at, gone):
        return A * np.exp(-242e3 / (R * np.interp(at, time, kelvin))) * (1 - gone)

    gone = 0.0
    for span in itertools.pairwise(time):
        gone = solve_ivp(slope, span, [gone], method="DOP853", rtol=1e-11, atol=1e-13).y[0, -1]
    np.testing.assert_allclose(binder_loss.gone(time, kelvin, 242e3, A)[-1], gone, rtol=1e-8)


@pytest.mark.nature
def test_loss_is_fastest_at_the_peak():
    kelvin = np.linspace(500, 800, 3001)
    gone = binder_loss.gone((kelvin - 500) * 6, kelvin, 242e3, A)
    rate = binder_loss.loss_rate(gone, kelvin, 242e3, A)
    np.testing.assert_allclose(kelvin[np.argmax(rate)], 708.15, rtol=2e-4)
    low = 1 - binder_loss.peak_loss_rate(242e3, 708.15, 10 / 60) / rate.max()
    assert 0.04 < low < 0.08  # as its docstring says


def test_peak_and_frequency_undo_each_other():
    np.testing.assert_allclose(binder_loss.peak(242e3, A, 10 / 60), 708.15, rtol=1e-10)


def test_wall_heated_at_its_limit_sees_just_what_is_allowed():
    flow = binder_loss.Flow(1.2e-13, 3e-5, 0.1)
    rate = binder_loss.fastest_heating(5e3, binder_loss.BinderSlab(0.01, 46.0, flow), 708.0, 242e3, 101325.0)
    source = 46.0 * binder_loss.peak_loss_rate(242e3, 708.0, rate)
    np.testing.assert_allclose(binder_loss.overpressure(source, 0.01, 708.0, flow, 101325.0), 5e3, rtol=1e-9)


def test_nonsense_is_refused():
    for call in (
        lambda: binder_loss.hold(1.0, 700.0, 242e3, A),
        lambda: binder_loss.permeability(1e-5, 1.0),
        lambda: binder_loss.frequency(0.0, 700.0, 1.0),
    ):
        with pytest.raises(LawError):
            call()
