"""What must hold of firing, whatever the programme."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

import furnace_goods as hand
from sagger.physics import arrhenius, burnout, creep, densify

FEW = settings(max_examples=15, deadline=None)
PEAK = st.floats(1150.0, 1400.0)
HOLD = st.floats(0.0, 6.0)


def fired(degc, hold, rate=5.0):
    card = hand.sintering(programme=(hand.BURN, hand.segment(rate, degc, hold)))
    return hand.fire((hand.green(),), hand.powder(card), hand.furnace())


@FEW
@given(PEAK, HOLD)
def test_hotter_or_longer_is_never_less_dense(degc, hold):
    base = fired(degc, hold).final_density
    assert fired(degc + 20, hold).final_density >= base
    assert fired(degc, hold + 0.5).final_density >= base


@FEW
@given(PEAK, HOLD)
def test_a_piece_never_gets_less_dense_nor_its_binder_back(degc, hold):
    found = fired(degc, hold)
    assert np.all(np.diff(found.density) >= 0) and np.all(np.diff(found.burnout) >= 0)
    assert found.density[0] >= 0.55 and found.final_density <= 0.98 and found.burnout[-1] <= 1


@FEW
@given(PEAK, HOLD)
def test_mass_is_kept_in_the_furnace(degc, hold):
    found = fired(degc, hold)
    np.testing.assert_allclose(np.prod(found.ratio) * found.final_density, 0.55, rtol=1e-9)


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
@given(st.floats(0.36, 0.9), st.floats(0.01, 0.09), st.floats(0.0, 3.0))
def test_film_is_never_denser_than_a_free_body(start, _, decay):
    assert creep.film_density(start, decay) <= densify.densified(start, decay) + 1e-12


@FEW
@given(st.floats(0.001, 0.05), st.floats(0.1, 10.0))
def test_pressure_rises_with_thickness_and_rate(half, rate):
    flow = burnout.Flow(1e-13, 3e-5, 0.1)
    one = burnout.overpressure(0.01 * rate, half, 700.0, flow, 101325.0)
    assert burnout.overpressure(0.01 * rate, 2 * half, 700.0, flow, 101325.0) > one
    assert burnout.overpressure(0.02 * rate, half, 700.0, flow, 101325.0) > one
