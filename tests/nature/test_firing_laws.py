"""What must hold of grain growth, gas and sag, whatever the numbers."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sagger.physics.sintering import coarsening, sag
from sagger.physics.sintering.sag import Beam

FEW = settings(max_examples=20, deadline=None)
STEEL = coarsening.GreenBody(0.55, 1.7, 5e-6, (coarsening.Route(0.0542, 226.7e3, 3.0),))


def soak(kelvin, hours):
    time = np.linspace(0, hours * 3600, 40)
    return time, np.full(40, kelvin)


@FEW
@given(st.floats(1400, 1650), st.floats(0.1, 5), st.floats(1e-12, 1e-9))
def test_grains_only_grow_and_density_only_rises_and_growth_never_helps(kelvin, hours, factor):
    growth = coarsening.Growth(5e-6, factor, 280e3, 0.05)
    plain = coarsening.followed(*soak(kelvin, hours), STEEL)
    grown = coarsening.followed(*soak(kelvin, hours), STEEL, growth)
    assert np.all(np.diff(grown.grain) >= 0) and np.all(np.diff(grown.density) >= 0)
    assert grown.density[-1] <= plain.density[-1] + 1e-12 and grown.density[-1] < 1


@FEW
@given(st.floats(2e-6, 50e-6), st.floats(1e3, 2e5))
def test_more_gas_or_wider_pores_end_at_less_density(radius, pressure):
    ends = [
        coarsening.gas_limit(coarsening.Pores(0.92, r), 1.7, p)
        for r, p in ((radius, pressure), (2 * radius, pressure), (radius, 2 * pressure))
    ]
    assert 0.92 < ends[1] < ends[0] < 1 and ends[2] < ends[0]


@pytest.mark.slow
@FEW
@given(st.floats(0.005, 0.1), st.floats(0.001, 0.02), st.floats(1e-7, 1e-5))
def test_sag_rises_with_span_and_falls_with_height_and_hold(length, height, soft):
    def total(long, tall, hold=sag.ON_ENDS):
        return sag.sag_after_sintering(0.55, 0.96, Beam(long, tall), 78e3, soft, hold).total

    assert total(2 * length, height) > total(length, height) > total(length, 2 * height)
    clamped, propped, free = (
        total(length, height, hold) for hold in (sag.CLAMPED, sag.PROPPED, sag.OVERHANG)
    )
    assert clamped < propped < total(length, height) < free
