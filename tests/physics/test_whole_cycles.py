"""Published furnace cycles as far as closed forms go; shapes that bend are for the finite elements."""

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp

from sagger.physics import densify

ZINC_OXIDE = {"surface_energy": 1.27, "radius": 0.2e-6}  # Shi et al., J. Eur. Ceram. Soc. 43 (2023) 4939


def zinc_oxide(peak_degc):
    """Finished over green length of its two layers, pressed to 0.47 and 0.57, free: 5 K/min from 750 degC."""

    def fluidity(time):
        x = (750 + time / 12) / 750
        return 1 / ((517 * x**2 - 1066 * x + 564) * 1e9)

    decay = densify.speed(1.0, **ZINC_OXIDE) * quad(fluidity, 0, (peak_degc - 750) * 12, epsrel=1e-10)[0]
    return [(start / float(densify.densified(start, decay))) ** (1 / 3) for start in (0.47, 0.57)]


def test_zinc_oxide_bilayer_bar_of_shi_2023_table_1():
    """Length 8.049 to 6.70 mm measured, 6.67 simulated; height 2.632 to 2.15 measured, 2.06 simulated.

    The layers hold each other, so the bar is taken as their mean; the bar's camber is left out: 2 % allowed.
    """
    mean = np.mean(zinc_oxide(1000))
    np.testing.assert_allclose([8.049 * mean, 2.632 * mean], [6.70, 2.15], rtol=0.02)


def test_zinc_oxide_bilayer_disc_of_shi_2023_table_2():
    """Radius 9.525 to 7.62 mm on the looser side, 7.83 on the denser, measured at 925 degC.

    Free layers bracket what bonded ones do; the mean is 2.5 % off, 3 % allowed.
    """
    loose, dense = (9.525 * ratio for ratio in zinc_oxide(925))
    assert loose < 7.83 < dense and loose < 7.62 * 1.02
    np.testing.assert_allclose((loose + dense) / 2, (7.62 + 7.83) / 2, rtol=0.03)


# LaWO54, the same paper, section 5.4 and figure 6: 25 to 1500 degC at 2 K/min, 720 min, cooling at 2 K/min.
BEGINS, PEAK, RATE, HOLD = 1278.15, 1773.15, 2 / 60, 720 * 60.0


def lawo54_viscosity(kelvin):
    """Sign inside the bracket turned round against print, where it diverges above 1005 degC."""
    return 2.975e13 * (1 + -0.226 * 665e3 / 8.314462618 * (1 / kelvin - 1 / BEGINS)) ** (1 / -0.226)


def followed(start, time, kelvin_at, stiffens):
    def slope(at, density):
        loss = ((density[0] - 0.92) / 0.02) ** 1.33 if stiffens and density[0] > 0.92 else 0.0
        speed = densify.speed(lawo54_viscosity(kelvin_at(at)), 1.0, 1e-6)
        return [speed / 10**loss * (1 - density[0])]

    path = solve_ivp(slope, (0, time), [start], method="LSODA", rtol=1e-9, atol=1e-12)
    return float(path.y[0, -1])


def test_lawo54_cycle_of_shi_2023_figure_6():
    """Printed: 0.952 measured, 0.957 simulated; 0.7221 at the start of the hold worked apart.

    The band of 0.015 covers what print leaves open: how its exponent is set, and whether it acts in cooling.
    """
    rise = (PEAK - BEGINS) / RATE
    hot = followed(0.597, rise, lambda time: BEGINS + RATE * time, stiffens=False)
    np.testing.assert_allclose(hot, 0.7221, atol=5e-5)
    soaked = followed(hot, HOLD, lambda time: PEAK, stiffens=True)
    final = followed(soaked, rise, lambda time: PEAK - RATE * time, stiffens=True)
    np.testing.assert_allclose(final, 0.952, atol=0.015)
    np.testing.assert_allclose(final, 0.957, atol=0.015)


def test_lawo54_viscosity_at_the_peak():
    """2.52e10 Pa.s at 1500 degC, worked apart."""
    np.testing.assert_allclose(lawo54_viscosity(PEAK), 2.52e10, rtol=2e-3)


@pytest.mark.parametrize(("step", "wanted"), [(600, 0.574432), (60, 0.587335), (15, 0.588358)])
def test_lester_2017_under_tension_in_coarse_steps(step, wanted):
    """1 MPa tension, backward Euler, worked apart; the published curve reads about 0.589."""
    from scipy.optimize import brentq

    density = 0.47
    for time in range(step, 3001, step):
        x = (750 + time / 12) / 750
        eta = (517 * x**2 - 1066 * x + 564) * 1e9

        def left(new, old=density, eta=eta):
            return new - old - step * densify.rate_under_stress(new, 1e6, eta, 1.27, 1e-6)

        density = brentq(left, density - 0.01, 0.99, xtol=1e-14)
    np.testing.assert_allclose(density, wanted, atol=2e-6)
