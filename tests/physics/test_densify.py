"""Densification against integration by other means, and the master curve."""

import itertools

import closed_forms
import numpy as np
import pytest
from scipy.constants import R
from scipy.integrate import quad, solve_ivp

from sagger.errors import LawError
from sagger.physics.burnout import arrhenius
from sagger.physics.sintering import densify

ZINC_OXIDE = {"surface_energy": 1.27, "radius": 1e-6}  # Lester, SAND2017-12933R (2017), table 1


def zinc_oxide_viscosity(time):
    """Lester, SAND2017-12933R: quadratic in temperature over 750 degC, 5 K/min from 750 degC [Pa.s]."""
    x = (750 + time / 12) / 750
    return (517 * x**2 - 1066 * x + 564) * 1e9


def test_lester_2017_figure_1_free():
    """Density 0.634 at 1000 degC read from the figure; 0.634104 computed apart."""
    fluidity = quad(lambda time: 1 / zinc_oxide_viscosity(time), 0, 3000, epsrel=1e-12)[0]
    np.testing.assert_allclose(fluidity, 1.29668183e-7, rtol=1e-8)
    decay = closed_forms.speed(1.0, **ZINC_OXIDE) * fluidity
    np.testing.assert_allclose(densify.densified(0.47, decay), 0.634104, rtol=2e-6)


def test_lester_2017_figure_1_coarse_steps():
    """Backward Euler with 600 s ends at 0.612 in the figure; 0.612373 computed apart."""
    density = 0.47
    for time in range(600, 3001, 600):
        k = closed_forms.speed(zinc_oxide_viscosity(time), **ZINC_OXIDE)
        density = (density + 600 * k) / (1 + 600 * k)
    np.testing.assert_allclose(density, 0.612373, rtol=2e-6)


def test_reiterer_2006_cycle():
    """Viscosity 1.66e-5 exp(48259.583/T), 3 alpha/r 3.81 MPa, 5 K/min from 750 degC; computed apart."""
    kelvin = np.array([750.0, 1100, 1200, 1250, 1300]) + 273.15
    fluidity = arrhenius.exposure((kelvin - kelvin[0]) * 12, kelvin, 48259.583 * R) / 1.66e-5
    found = densify.densified(0.47, 0.75 * 3.81e6 * fluidity[1:])
    np.testing.assert_allclose(found, [0.491646, 0.684778, 0.895651, 0.995354], rtol=2e-6)


@pytest.mark.parametrize(
    ("degc", "rate", "wanted"), [(1370, 5, 0.96387), (1300, 10, 0.84976), (1250, 5, 0.7792)]
)
def test_cabo_rios_2022_densities_of_316l(degc, rate, wanted):
    """Abstract: 96.4 % at 1370 degC, 85.0 % at 1300 degC; fit with an assumed hold of 1 h, computed apart."""
    peak, up = degc + 273.15, (degc - 25) / rate * 60
    decay = densify.decay((0, up, up + 3600), (298.15, peak, peak), 1.7, 5e-6, 0.0542, 226.7e3)
    np.testing.assert_allclose(densify.densified(0.55, decay)[-1], wanted, rtol=1e-4)


def test_closed_form_is_the_ode_along_any_path():
    time, kelvin = np.array([0, 9000, 12000, 15000.0]), np.array([900, 1500, 1500, 1200.0])

    def slope(at, density):
        eta = closed_forms.viscosity(float(np.interp(at, time, kelvin)), 0.0542, 226.7e3)
        return closed_forms.speed(eta, 1.7, 5e-6) * (1 - density)

    pieces, density = list(itertools.pairwise(time)), 0.55
    for span in pieces:
        density = solve_ivp(slope, span, [density], method="DOP853", rtol=1e-11, atol=1e-13).y[0, -1]
    decay = densify.decay(time, kelvin, 1.7, 5e-6, 0.0542, 226.7e3)
    np.testing.assert_allclose(densify.densified(0.55, decay)[-1], density, rtol=1e-9)


def test_stress_law_without_stress_is_free_sintering():
    free = densify.densified(0.47, closed_forms.speed(1.0, **ZINC_OXIDE) * 1e-7)
    held = closed_forms.density_under_stress(0.47, 1e-7, 0.0, **ZINC_OXIDE)
    np.testing.assert_allclose(held, free, rtol=1e-9)


def runs(energy, rates=(2, 5, 10, 20)):
    """Dilatometer runs of a body that obeys the law with this energy, 25 to 1950 degC."""
    made = []
    for rate in rates:
        kelvin = np.linspace(298.15, 2223.15, 3500)
        time = (kelvin - 298.15) / rate * 60
        c = np.log(0.42 / 0.015) / 1.077275e-12
        made.append((time, kelvin, densify.densified(0.58, c * arrhenius.work(time, kelvin, energy))))
    return made


def test_collapse_gives_the_energy_back():
    """440 kJ/mol, start 0.58, 0.985 after 1550 degC for 2 h: the minimum lies at 440, computed apart."""
    levels = np.linspace(0.62, 0.95, 12)
    found = densify.energy_by_collapse(runs(440e3), levels)
    np.testing.assert_allclose(found, 440e3, rtol=1e-3)
    off = [densify.scatter(energy, runs(440e3), levels) for energy in (390e3, 490e3)]
    np.testing.assert_allclose(off, 8.78e-3, rtol=0.1)


def test_linearised_curve_is_straight():
    logs = np.linspace(-30, -24, 7)
    odds = [densify.linearised(densify.sigmoid(log, 0.58, -27, 1.2), 0.58) for log in logs]
    np.testing.assert_allclose(np.diff(odds), 1 / 1.2, rtol=1e-9)


def test_nonsense_is_refused():
    with pytest.raises(LawError, match="between 0 and 1"):
        densify.densified(1.2, 0.1)
    with pytest.raises(LawError, match="does not pass"):
        densify.scatter(440e3, runs(440e3), [0.5, 0.9])
    with pytest.raises(LawError, match="must lie between"):
        densify.linearised(0.5, 0.58)
    with pytest.raises(LawError, match="go back"):
        arrhenius.work((0, -1), (300, 400), 1e5)
