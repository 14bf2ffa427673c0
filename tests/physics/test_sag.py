"""Identities that hold between the closed forms."""

import itertools

import closed_forms
import numpy as np
import pytest

from sagger.errors import LawError
from sagger.physics.sintering import densify, sag


@pytest.mark.parametrize("density", [0.5, 0.6, 0.8, 0.95])
def test_young_and_poisson_follow_from_shear_and_bulk(density):
    body = closed_forms.moduli(density, 3e9)
    young = 9 * body.bulk * body.shear / (3 * body.bulk + body.shear)
    poisson = (3 * body.bulk - 2 * body.shear) / (2 * (3 * body.bulk + body.shear))
    np.testing.assert_allclose([body.young, body.poisson], [young, poisson], rtol=1e-12)
    assert 0.20 - 1e-12 <= body.poisson <= 0.481  # covers 0.21 to 0.42 as measured by Zuo et al. 2003


def test_linear_creep_of_a_porous_metal_is_the_same_law():
    """Norton-Green form, exponent 1, A = 1 / (3 viscosity), from memory: c = 1 / phi, f = 1 / (6 psi)."""
    for density in (0.5, 0.7, 0.95):
        body = closed_forms.moduli(density, 3e9)
        np.testing.assert_allclose(1 / density**2, 3e9 / body.shear, rtol=1e-12)
        np.testing.assert_allclose((1 - density) / (4 * density**3), 3e9 / (3 * body.bulk), rtol=1e-12)


def test_free_strain_is_the_densification_law():
    forged = closed_forms.forged(0.7, 0.0, 1e9, 1.7, 5e-6)
    np.testing.assert_allclose(forged.along, forged.across, rtol=1e-12)
    np.testing.assert_allclose(forged.density, closed_forms.speed(1e9, 1.7, 5e-6) * 0.3, rtol=1e-12)


def test_forging_agrees_with_the_law_under_stress():
    along = closed_forms.forged(0.7, 2e5, 1e9, 1.7, 5e-6).density
    np.testing.assert_allclose(closed_forms.rate_under_stress(0.7, 2e5, 1e9, 1.7, 5e-6), along, rtol=1e-12)


def test_thickness_of_a_film_goes_as_the_density_of_a_free_body():
    """Derived identity: 1 - start / film density = free density - start at the same time."""
    for decay in (0.1, 0.5, 2.0):
        film, free = closed_forms.film_density(0.6, decay), densify.densified(0.6, decay)
        np.testing.assert_allclose(1 - 0.6 / film, free - 0.6, rtol=1e-12)


def test_sag_goes_with_span_cubed_over_height_squared():
    def bending(length, height, softness=3e-6):
        return sag.sag_after_sintering(0.55, 0.96, sag.Beam(length, height), 78e3, softness).bending

    np.testing.assert_allclose(bending(0.1, 0.005) / bending(0.05, 0.005), 8, rtol=1e-9)
    np.testing.assert_allclose(bending(0.05, 0.01) / bending(0.05, 0.005), 1 / 4, rtol=1e-9)
    np.testing.assert_allclose(bending(0.05, 0.005, 6e-6) / bending(0.05, 0.005), 2, rtol=1e-9)


def test_sag_is_the_sag_rate_summed_whatever_the_viscosity():
    """Without straightening; midpoint rule through the densities, with a viscosity that jumps about."""
    beam, steps, sunk = sag.Beam(0.05, 0.005), 4000, 0.0
    edges = np.linspace(0.55, 0.96, steps + 1)
    for low, high in itertools.pairwise(edges):
        rho, eta = (low + high) / 2, 1e9 * (1 + 0.5 * np.sin(50 * low))
        shrunk = (0.55 / rho) ** (1 / 3)
        here = sag.Beam(beam.length * shrunk, beam.height * shrunk)
        rate = closed_forms.sag_rate_on_ends(here, closed_forms.moduli(rho, eta), rho * 78e3).bending
        sunk += rate / here.length * (high - low) / (closed_forms.speed(eta, 1.7, 5e-6) * (1 - rho))
    found = sag.sag_after_sintering(0.55, 0.96, beam, 78e3, 5e-6 / 1.7)
    np.testing.assert_allclose(found.bending / sag.straightening(0.55, 0.96), sunk, rtol=1e-6)


def test_nothing_sags_before_it_sinters():
    assert sag.sag_after_sintering(0.6, 0.6, sag.Beam(0.05, 0.005), 78e3, 3e-6).total == 0


def test_nonsense_is_refused():
    with pytest.raises(LawError, match="must rise"):
        sag.sag_after_sintering(0.9, 0.6, sag.Beam(0.05, 0.005), 78e3, 3e-6)


def test_ways_to_hold_a_bar_sag_as_their_rates_do():
    beam, body = sag.Beam(0.05, 0.005), closed_forms.moduli(0.6, 1e9)
    ends = closed_forms.sag_rate_on_ends(beam, body, 46793.7)
    for hold, law in (
        (sag.CLAMPED, closed_forms.sag_rate_clamped),
        (sag.OVERHANG, closed_forms.sag_rate_overhang),
    ):
        rate = law(beam, body, 46793.7)
        np.testing.assert_allclose(hold.bending / sag.ON_ENDS.bending, rate.bending / ends.bending, rtol=1e-9)
        np.testing.assert_allclose(hold.shear / sag.ON_ENDS.shear, rate.shear / ends.shear, rtol=1e-9)


def test_propped_bar_sags_most_where_handbooks_say():
    """q x^2 (L - x) (3 L - 2 x) / (48 E I), largest at 0.5785 L, 1 / 184.6; handbook formula from memory."""
    x = np.linspace(0, 1, 100001)
    most = np.max(x**2 * (1 - x) * (3 - 2 * x) / 48)
    np.testing.assert_allclose(sag.PROPPED.bending, 12 * most, rtol=2e-4)


@pytest.mark.outside("handbook formulas of beams, from memory")
def test_shapes_along_a_beam_are_one_where_it_sags_most():
    np.testing.assert_allclose(sag.along_span([0, 0.5, 1]), [0, 1, 0], atol=1e-15)
    np.testing.assert_allclose(sag.along_overhang([0, 0.5, 1]), [0, 17 / 48, 1], atol=1e-15)
