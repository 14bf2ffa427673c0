"""What must hold of firing, whatever the programme."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import furnace_goods as hand
from sagger.physics.burnout import arrhenius, binder_loss, burnout_pace
from sagger.physics.sintering import scale

FEW = settings(max_examples=15, deadline=None)
PEAK = st.floats(1150.0, 1400.0)
HOLD = st.floats(0.0, 6.0)


def fired(degc, hold, rate=5.0):
    card = hand.sintering(programme=(hand.BURN, hand.segment(rate, degc, hold)))
    return hand.fire((hand.green(),), hand.powder(card), hand.furnace())


@pytest.mark.slow
@FEW
@given(PEAK, HOLD)
def test_hotter_or_longer_is_never_less_dense(degc, hold):
    base = fired(degc, hold).final_density
    assert fired(degc + 20, hold).final_density >= base
    assert fired(degc, hold + 0.5).final_density >= base


@pytest.mark.slow
@FEW
@given(PEAK, HOLD)
def test_a_piece_never_gets_less_dense_nor_its_binder_back(degc, hold):
    found = fired(degc, hold)
    assert np.all(np.diff(found.density) >= 0) and np.all(np.diff(found.burnout) >= 0)
    assert found.density[0] >= 0.55 and found.final_density <= 0.98 and found.burnout[-1] <= 1


@pytest.mark.slow
@FEW
@given(PEAK, HOLD)
def test_mass_is_kept_in_the_furnace(degc, hold):
    found = fired(degc, hold)
    np.testing.assert_allclose(np.prod(found.ratio) * found.final_density, 0.55, rtol=1e-9)


@FEW
@given(st.floats(0.2, 5.0), st.floats(0.2, 5.0), st.floats(3.0, 4.0), st.floats(0.0, 0.5))
def test_grains_scale_step_by_step(one, other, exponent, u):
    """From a size to another and on to a third takes as long as at once; the same size is not doubted."""
    at_once = scale.slower(one * other, exponent)
    np.testing.assert_allclose(
        scale.slower(one, exponent) * scale.slower(other, exponent), at_once, rtol=1e-9
    )
    assert scale.slower(1.0, exponent) == 1.0 and scale.doubt(1.0, u) == 0.0
    faster, slower = (scale.slower(one, exponent + sign * 1e-6 * u) for sign in (-1, 1))
    seen = abs(np.log(slower / faster)) / 2e-6
    np.testing.assert_allclose(scale.doubt(one, u), seen, rtol=1e-3, atol=1e-8)


@FEW
@given(st.floats(100e3, 600e3), st.floats(0.1, 20.0))
def test_work_does_not_depend_on_how_a_path_is_cut(energy, rate):
    kelvin = np.array([400.0, 1500.0])
    time = (kelvin - 400) / rate * 60
    fine = np.linspace(0, 1, 57)
    for law in (arrhenius.work, arrhenius.exposure):
        whole = law(time, kelvin, energy)[-1]
        cut = law(time[1] * fine, 400 + 1100 * fine, energy)[-1]
        np.testing.assert_allclose(cut, whole, rtol=1e-9)


@FEW
@given(st.floats(100e3, 600e3))
def test_a_ramp_of_no_slope_is_a_hold(energy):
    for law in (arrhenius.work, arrhenius.exposure):
        level = law((0, 100), (1200, 1200), energy)[-1]
        for slope in (1e-7, 1e-4, 1e-2):
            np.testing.assert_allclose(law((0, 100), (1200, 1200 + slope), energy)[-1], level, rtol=1e-3)


@FEW
@given(st.floats(0.001, 0.05), st.floats(0.1, 10.0))
def test_pressure_rises_with_thickness_and_rate(half, rate):
    flow = binder_loss.Flow(1e-13, 3e-5, 0.1)
    one = binder_loss.overpressure(0.01 * rate, half, 700.0, flow, 101325.0)
    assert binder_loss.overpressure(0.01 * rate, 2 * half, 700.0, flow, 101325.0) > one
    assert binder_loss.overpressure(0.02 * rate, half, 700.0, flow, 101325.0) > one


@FEW
@given(st.floats(1e3, 2e4), st.floats(0.002, 0.02))
def test_rate_that_the_pressure_allows_gives_just_that_pressure(allowed, half):
    flow, binder, kelvin = binder_loss.Flow(1e-13, 3e-5, 0.1), 46.0, 700.0
    rate = burnout_pace.pressed(allowed, half, binder, flow, 101325.0) / kelvin
    over = binder_loss.overpressure(binder * rate, half, kelvin, flow, 101325.0)
    np.testing.assert_allclose(over, allowed, rtol=1e-9)


@FEW
@given(st.floats(1e-5, 3e-4), st.floats(0.5, 5.0))
def test_quickest_burnout_keeps_both_limits_and_always_one_of_them_binds(loss, per_minute):
    """Loss between the corners as the exact exposure of the straight path has it."""
    bound, heating = burnout_pace.Bound(loss, 1e9), per_minute / 60
    energy, frequency = 242e3, binder_loss.frequency(242e3, 708.15, 10 / 60)
    pace = burnout_pace.quickest(298.15, 900.0, heating, bound, energy, frequency)
    steps = np.diff(pace.time)
    climbs = np.diff(pace.temperature) / steps
    assert climbs.min() >= 0 and climbs.max() <= heating * (1 + 1e-9)
    gone = binder_loss.gone(pace.time, pace.temperature, energy, frequency)
    np.testing.assert_allclose(gone, pace.gone, rtol=0, atol=1e-3)
    lost = np.diff(pace.gone) / steps
    assert lost.max() <= loss * 1.02
    busy = (pace.gone[1:] < 0.98) & (
        pace.temperature[1:] < 899
    )  # at the end so little is left that neither binds
    assert np.all(np.maximum(climbs / heating, lost / loss)[busy] > 0.9)
