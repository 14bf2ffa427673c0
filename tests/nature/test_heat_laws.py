"""What must hold of heat in the box and of cure, whatever the numbers; and other people's programs."""

from __future__ import annotations

from math import exp, inf, log, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from sagger.errors import LawError
from sagger.physics.heat import bed_conductivity, conduction
from sagger.physics.heat.box_heat_kinetics import CureKinetics, degree, first_order_rate

quick = settings(max_examples=40, deadline=None)

# ---- heat

STEEL = conduction.Block((0.40, 0.25, 0.25), 0.20, 2.385e6, 20.0, 298.15, 473.15)


def test_roots_solve_their_equation():
    for biot in (1e-4, 0.1, 1.0, 10.0, 1e4):
        zeta = conduction.eigenvalues(biot, 40)
        np.testing.assert_allclose(
            zeta * np.sin(zeta), biot * np.cos(zeta), rtol=1e-6, atol=1e-9 * (1 + biot)
        )
        assert (np.diff(zeta) > 2.5).all() and (np.diff(zeta) < 3.5).all()


@pytest.mark.slow
@quick
@given(biot=st.floats(0.01, 1e3), place=st.floats(0, 1), early=st.floats(1e-5, 3), later=st.floats(1.01, 5))
def test_slab_warms_steadily_from_the_face_inward(biot, place, early, later):
    now, then = conduction.slab(biot, [early, early * later], place)
    assert 0 <= then <= now + 1e-9 and now <= 1
    assert conduction.slab(biot, early, 1.0)[0] <= conduction.slab(biot, early, 0.0)[0] + 1e-9


@pytest.mark.parametrize("place", [0.0, 0.5, 0.9])
def test_early_slab_is_a_half_space(place):
    """Face at oven temperature, short times: erf (Carslaw and Jaeger, section 2.4)."""
    from scipy.special import erf

    for fourier in (1e-4, 1e-3, 1e-2):
        left = conduction.slab(inf, fourier, place)[0]
        np.testing.assert_allclose(left, erf((1 - place) / (2 * sqrt(fourier))), rtol=1e-6)


def test_thin_block_warms_as_one():
    """Low Biot number: lumped heat capacity, exp(-h A t / (rho c V))."""
    block = conduction.Block((0.01, 0.02, 0.04), 50.0, 3e6, 5.0, 300.0, 400.0)
    rate = 5.0 / 3e6 * 2 * (1 / 0.01 + 1 / 0.02 + 1 / 0.04)
    t = 3000.0
    np.testing.assert_allclose(
        conduction.unheated(block, conduction.core(block), [t])[0], exp(-rate * t), rtol=2e-3
    )


@pytest.mark.slow
def test_block_agrees_with_finite_volumes():
    """An eighth of the box in 16 x 10 x 10 volumes, stepped in time with no use of the series."""
    cells, half = (16, 10, 10), STEEL.half_sides
    d = [h / n for h, n in zip(half, cells, strict=True)]
    faces = [STEEL.conductivity / step for step in d]
    outside = [1 / (1 / STEEL.film + step / 2 / STEEL.conductivity) for step in d]

    def rate(_, flat):
        t, total = flat.reshape(cells), np.zeros(cells)
        for axis in range(3):
            inner = faces[axis] * np.diff(t, axis=axis)
            hot = outside[axis] * (STEEL.oven - np.take(t, [-1], axis=axis))
            mirror = np.zeros_like(hot)
            q = np.concatenate([mirror, inner, hot], axis=axis)
            total += np.diff(q, axis=axis) / d[axis]
        return total.ravel() / STEEL.volume_heat

    time = conduction.time_to_temperature(STEEL, conduction.core(STEEL), 453.15)
    start = np.full(cells, STEEL.start).ravel()
    found = solve_ivp(rate, (0, time), start, method="LSODA", rtol=1e-5, uband=100, lband=100).y[0, -1]
    assert abs(found - 453.15) < 0.5


@pytest.mark.slow
@settings(max_examples=5, deadline=None)
@given(scale=st.floats(0.2, 5))
def test_twice_the_size_at_half_the_film_takes_four_times_as_long(scale):
    larger = STEEL._replace(sides=tuple(scale * side for side in STEEL.sides), film=STEEL.film / scale)
    plain = conduction.time_to_temperature(STEEL, conduction.core(STEEL), 453.15)
    scaled = conduction.time_to_temperature(larger, conduction.core(larger), 453.15)
    np.testing.assert_allclose(scaled, scale**2 * plain, rtol=1e-9)


def test_one_term_is_within_its_known_error():
    """The usual chart solution stays below 1.3 % of the full series here."""
    theta, product, speed = 20 / 175, 1.0, 0.0
    for half in STEEL.half_sides:
        zeta = conduction.eigenvalues(STEEL.film * half / STEEL.conductivity, 1)
        product *= conduction.coefficients(zeta)[0]
        speed += (zeta[0] / half) ** 2
    one_term = log(product / theta) / (STEEL.diffusivity * speed)
    np.testing.assert_allclose(one_term / 3600, 29.172, rtol=1e-3)
    np.testing.assert_allclose(
        one_term, conduction.time_to_temperature(STEEL, conduction.core(STEEL), 453.15), rtol=0.013
    )


def test_temperature_never_reached_and_reached_at_once():
    at = conduction.core(STEEL)
    assert conduction.time_to_temperature(STEEL, at, STEEL.oven) == inf
    assert conduction.time_to_temperature(STEEL, at, 500.0) == inf
    assert conduction.time_to_temperature(STEEL, at, 290.0) == 0.0
    with pytest.raises(LawError, match="outside"):
        conduction.time_to_temperature(STEEL, (0.3, 0.1, 0.1), 400.0)


# ---- conductivity of beds


@quick
@given(porosity=st.floats(0.3, 0.6), ratio=st.floats(1.5, 1e4))
def test_bed_without_slip_lies_between_parallel_and_series(porosity, ratio):
    found = bed_conductivity.bauer_schluender(porosity, ratio, 1.0)
    assert 1 / (porosity + (1 - porosity) / ratio) - 1e-6 <= found <= porosity + (1 - porosity) * ratio + 1e-6


def test_bed_of_gas_conducts_as_gas():
    np.testing.assert_allclose(bed_conductivity.bauer_schluender(0.4, 1.0 + 1e-9, 1.0), 1.0, rtol=1e-6)


@quick
@given(slip=st.floats(0.5, 0.99), ratio=st.floats(20, 1e3))
def test_slip_insulates_and_contact_conducts(slip, ratio):
    free, slipping = (bed_conductivity.bauer_schluender(0.4, ratio, s) for s in (1.0, slip))
    assert slipping < free
    assert bed_conductivity.bauer_schluender(0.4, ratio, slip, contact=0.01) > slipping
    assert bed_conductivity.bauer_schluender(0.4, ratio, slip, radiation=0.05) > slipping


def test_bed_formula_passes_its_removable_gap():
    ratio = bed_conductivity.deformation(0.4)  # N = 1 - B/ratio vanishes here
    beside = [bed_conductivity.bauer_schluender(0.4, ratio * (1 + step), 1.0) for step in (-1e-3, 0.0, 1e-3)]
    assert beside[0] < beside[1] < beside[2]


# ---- cure


@quick
@given(rate=st.floats(1e-5, 1e-2), time=st.floats(1, 1e5), order=st.floats(1, 3), more=st.floats(1, 4))
def test_cure_lies_between_none_and_all_and_never_goes_back(rate, time, order, more):
    kinetics = CureKinetics(5e4, 453.15, rate, order)
    first, then = degree(kinetics, time), degree(kinetics, more * time)
    assert 0 <= first <= then <= 1


def test_cure_of_an_order_just_above_one_is_that_of_the_first():
    near = degree(CureKinetics(5e4, 453.15, 1e-3, 1 + 1e-9), 2000.0)
    np.testing.assert_allclose(near, degree(CureKinetics(5e4, 453.15, 1e-3), 2000.0), rtol=1e-6)


def test_rate_of_a_first_order_cure_leaves_what_is_left():
    rate = first_order_rate(3600.0, 0.95)
    np.testing.assert_allclose(degree(CureKinetics(5e4, 453.15, rate), 3600.0), 0.95, rtol=1e-12)
