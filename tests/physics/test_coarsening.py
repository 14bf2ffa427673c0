"""Densification with grain growth and gas, against other ways to the same answer."""

import numpy as np
import pytest
from scipy.constants import k
from scipy.integrate import solve_ivp

from sagger.errors import LawError
from sagger.physics.sintering import coarsening, densify

STEEL = coarsening.GreenBody(0.55, 1.7, 5e-6, (coarsening.Route(0.0542, 226.7e3, 0.0),))
# Diffusional flow of 316 steel, Frost and Ashby, Deformation-Mechanism Maps (1982), from memory: eta =
# k T d^2 / (42 atom (Dv + pi delta Db / d)); here through the lattice and along boundaries, at 5 um.
ROUTES = (
    coarsening.Route(k * 5e-6**2 / (42 * 1.21e-29 * 3.7e-5), 280e3, 2.0),
    coarsening.Route(k * 5e-6**3 / (42 * 1.21e-29 * np.pi * 2.0e-13), 167e3, 3.0),
)
MADE_UP = coarsening.GreenBody(0.55, 1.7, 2.5e-6, ROUTES)
GROWTH = coarsening.Growth(5e-6, 5e-9, 280e3, 0.05)


def firing(degc, hold_min, rate=5.0, points=400):
    """25 degC to a peak at `rate` K/min, then a hold."""
    up = (degc - 25) / rate * 60
    time = np.concatenate([np.linspace(0, up, points), up + np.linspace(0, hold_min * 60, 80)[1:]])
    return time, 25 + 273.15 + np.minimum(time * rate / 60, degc - 25)


@pytest.mark.parametrize(
    ("degc", "hold", "growth", "density", "grain"),
    [
        (1370, 120, GROWTH, 0.823617, 16.9562),
        (1370, 120, GROWTH._replace(drag=1e9), 0.623174, 37.0566),
        (1370, 120, None, 0.999830, 5.0),
        (1300, 60, GROWTH, 0.812173, 10.0124),
    ],
)
def test_made_up_powder_with_grain_growth(degc, hold, growth, density, grain):
    """Manufactured case, integrated apart by three methods of scipy that agree to 1e-8."""
    found = coarsening.followed(*firing(degc, hold), MADE_UP, growth)
    np.testing.assert_allclose(found.density[-1], density, rtol=2e-6)
    np.testing.assert_allclose(found.grain[-1] * 5, grain, rtol=1e-5)


def test_without_growth_and_gas_it_is_the_closed_form():
    time, kelvin = firing(1370, 60)
    closed = densify.densified(0.55, densify.decay(time, kelvin, 1.7, 5e-6, 0.0542, 226.7e3))
    np.testing.assert_allclose(coarsening.followed(time, kelvin, STEEL).density, closed, rtol=1e-9)


def test_steps_are_of_fourth_order():
    """Halving the steps of a soak divides the error by about 16."""
    found = [
        coarsening.followed(np.linspace(0, 4e4, n + 1), np.full(n + 1, 1600.0), MADE_UP, GROWTH).density[-1]
        for n in (8, 16, 32, 512)
    ]
    errors = np.abs(np.array(found[:3]) - found[3])
    assert np.all(errors[:-1] / errors[1:] > 10) and errors[2] > 1e-12


def test_two_routes_side_by_side_follow_an_ode_solver():
    time, kelvin = np.array([0.0, 7200.0]), np.array([1600.0, 1600.0])

    def slope(_, state):
        density, volume = state
        grain = volume ** (1 / 3)
        fluid = sum(
            np.exp(-route.energy / (8.314462618 * 1600)) / (route.factor * 1600 * grain**route.exponent)
            for route in ROUTES
        )
        free = 9 * 1.7 / (4 * 2.5e-6 * grain) * fluid * (1 - density)
        drag = (0.05 / (0.05 + 1 - density)) ** 1.5
        return [free, 5e-9 / 5e-6**3 * np.exp(-280e3 / (8.314462618 * 1600)) * drag]

    end = solve_ivp(slope, (0, 7200), [0.55, 1.0], method="DOP853", rtol=1e-10, atol=1e-12).y[:, -1]
    fine = np.linspace(0, 7200, 50)
    found = coarsening.followed(fine, np.full(50, 1600.0), MADE_UP, GROWTH)
    np.testing.assert_allclose(found.density[-1], end[0], rtol=1e-7)
    np.testing.assert_allclose(found.grain[-1] ** 3, end[1], rtol=1e-7)
    assert time[-1] == fine[-1] and kelvin[0] == 1600


def test_gas_ends_densification_where_the_balance_says():
    pores = coarsening.Pores(0.92, 5e-6)
    found = coarsening.followed(*firing(1370, 6000), STEEL, None, pores, 101325.0)
    np.testing.assert_allclose(found.density[-1], coarsening.gas_limit(pores, 1.7, 101325.0), rtol=1e-6)
    free = coarsening.followed(*firing(1370, 6000), STEEL, None, pores, 0.0)
    assert free.density[-1] > found.density[-1]


def test_nonsense_is_refused():
    with pytest.raises(LawError, match="do not go back"):
        coarsening.followed([0, -1], [300, 400], STEEL)
    with pytest.raises(LawError, match="between 0 and 1"):
        coarsening.followed([0, 1], [300, 400], STEEL._replace(density=1.2))
    with pytest.raises(LawError, match="pores must close"):
        coarsening.gas_limit(coarsening.Pores(1.2, 5e-6), 1.7, 101325.0)
