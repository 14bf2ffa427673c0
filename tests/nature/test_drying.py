"""Water in a bed: steam tables, conservation, and what must hold whatever the numbers."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sagger.physics.heat import drying

quick = settings(max_examples=40, deadline=None)
shares = st.lists(st.floats(0.0, 0.6), min_size=1, max_size=12)


@pytest.mark.slow
@pytest.mark.parametrize("celsius", [10, 25, 40, 60, 80, 90])
def test_water_vapour_agrees_with_steam_tables(celsius):
    iapws = pytest.importorskip("iapws")  # IAPWS-IF97, saturated steam
    steam = iapws.IAPWS97(T=celsius + 273.15, x=1)
    np.testing.assert_allclose(drying.water_vapour(celsius + 273.15), steam.rho, rtol=0.015)


@quick
@given(liquid=st.lists(st.floats(0, 1e-2), min_size=1, max_size=60), leaves=shares)
def test_solvent_jetted_is_solvent_gone_and_left(liquid, leaves):
    went = drying.stack(np.array(liquid), np.array(leaves))
    np.testing.assert_allclose(went.left.sum() + went.gone.sum(), sum(liquid), rtol=1e-12, atol=1e-18)
    assert (went.left >= 0).all() and (went.gone >= -1e-18).all()


@quick
@given(leaves=shares, count=st.integers(1, 40))
def test_lower_layers_of_an_even_stack_are_drier(leaves, count):
    left = drying.stack(np.ones(count), np.array(leaves)).left
    assert (np.diff(left) >= -1e-12).all()


def test_a_stack_is_marched_layer_by_layer_to_the_same_end():
    liquid, leaves = np.array([1.0, 0.0, 2.0, 1.0, 0.5]), np.array([0.5, 0.3, 0.1, 0.3])
    left, gone = np.zeros(5), np.zeros(5)
    for top in range(5):
        left[top] = liquid[top]
        for k in range(top + 1):
            went = min(left[k], liquid[k] * (leaves[top - k] if top - k < len(leaves) else 0.0))
            left[k] -= went
            gone[top] += went
    found = drying.stack(liquid, leaves)
    np.testing.assert_allclose(found.left, left, rtol=1e-12, atol=1e-15)
    np.testing.assert_allclose(found.gone, gone, rtol=1e-12, atol=1e-15)


def test_heat_under_the_lamp_agrees_with_a_stepped_bed():
    """Explicit finite differences under constant flux: temperature at depth over that of the surface."""
    k, volume_heat, time, step, count = 0.2, 2.3e6, 5.0, 2e-5, 400
    dt = 0.4 * step**2 * volume_heat / k
    t = np.zeros(count)
    for _ in range(round(time / dt)):
        q = np.concatenate([[1.0], k * (t[:-1] - t[1:]) / step, [0.0]])
        t = t + dt / (volume_heat * step) * (q[:-1] - q[1:])
    depth = (np.arange(count) + 0.5) * step
    surface = t[0] + step / (2 * k)
    np.testing.assert_allclose(
        drying.warmth_at(depth[:100], time, k, volume_heat), t[:100] / surface, rtol=0, atol=0.003
    )


@quick
@given(depth=st.floats(1e-5, 1e-2), transfer=st.floats(1e-3, 0.1), porosity=st.floats(0.3, 0.6))
def test_powder_above_holds_vapour_back(depth, transfer, porosity):
    one, two = drying.vapour_way(np.array([depth, 2 * depth]), transfer, porosity, 330.0)
    assert 0 < two < one < 1
    assert drying.vapour_way(np.zeros(1), transfer, porosity, 330.0)[0] == 1
