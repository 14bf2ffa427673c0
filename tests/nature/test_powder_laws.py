"""What must hold of powder, binder, heat and cure, whatever the numbers; and other people's programs."""

from __future__ import annotations

from math import exp, inf, pi

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import lognorm

from sagger.cards.standards import sieves
from sagger.errors import LawError
from sagger.physics.burnout.binder_loss import permeability as kozeny_carman
from sagger.physics.drops import jetting, pass_clock, wetting
from sagger.physics.heat import drying
from sagger.physics.powder import flow, grains, packing, reuse, sand

share = st.floats(0.05, 0.95)
quick = settings(max_examples=40, deadline=None)

# ---- binder


@pytest.mark.slow
@quick
@given(drop=st.floats(1e-15, 1e-12), more=st.floats(1.01, 3), pack=st.floats(0.3, 0.7))
def test_saturation_grows_with_the_drop_and_is_undone(drop, more, pack):
    lattice, layer = (4e-5, 6e-5), 5e-5
    low = wetting.saturation(drop, lattice, layer, pack)
    assert wetting.saturation(more * drop, lattice, layer, pack) > low
    np.testing.assert_allclose(wetting.drop_for(low, lattice, layer, pack), drop, rtol=1e-12)


@quick
@given(time=st.floats(1e-6, 1), radius=st.floats(1e-6, 1e-4))
def test_washburn_depth_and_time_undo_each_other(time, radius):
    rest = {"radius": radius, "tension": 0.035, "contact": 0.5, "viscosity": 0.008}
    np.testing.assert_allclose(
        wetting.time_to_depth(wetting.soaked_depth(time, **rest), **rest), time, rtol=1e-12
    )


def test_binder_that_does_not_wet_never_soaks_in():
    rest = {"radius": 3e-6, "tension": 0.035, "contact": pi / 2 + 0.1, "viscosity": 0.008}
    assert wetting.soaked_depth(1.0, **rest) == 0.0
    assert wetting.time_to_depth(1e-4, **rest) == inf
    assert wetting.soak_time(5e-14, 0.6, **rest) == inf


def test_saturation_without_surplus_does_not_bleed():
    assert wetting.square_bleed(0.5, 0.6, 1e-2) == 0.0


@quick
@given(pressure=st.floats(1.0, 1e6), more=st.floats(1.0, 10.0))
def test_bed_holds_less_binder_against_more_pressure(pressure, more):
    held = [wetting.equilibrium_saturation(p, 5e3, 1.7, 0.1) for p in (pressure, pressure * more)]
    assert 0.1 <= held[1] <= held[0] <= 1


@pytest.mark.slow
@quick
@given(speed=st.floats(0.5, 20), viscosity=st.floats(1e-3, 0.1), size=st.floats(1e-5, 1e-4))
def test_drop_numbers_agree_with_a_reference_library(speed, viscosity, size):
    fluids = pytest.importorskip("fluids")
    numbers = jetting.drop_numbers(size, speed, 1050.0, viscosity, 0.035)
    reference = {"rho": 1050.0, "mu": viscosity}
    np.testing.assert_allclose(numbers.reynolds, fluids.Reynolds(V=speed, D=size, **reference), rtol=1e-12)
    np.testing.assert_allclose(
        numbers.weber, fluids.Weber(V=speed, L=size, rho=1050.0, sigma=0.035), rtol=1e-12
    )
    np.testing.assert_allclose(
        numbers.ohnesorge, fluids.Ohnesorge(L=size, sigma=0.035, **reference), rtol=1e-12
    )
    np.testing.assert_allclose(numbers.ohnesorge * numbers.z, 1.0, rtol=1e-12)


def test_drop_verdicts_cover_the_window():
    def told(viscosity, speed=6.0):
        return jetting.verdict(jetting.drop_numbers(4e-5, speed, 1000.0, viscosity, 0.035))

    assert [told(v) for v in (0.05, 0.01, 0.003, 0.001)] == ["too thick", "steady", "satellites", "too thin"]
    assert told(0.01, 1.0) == "too slow" and told(0.004, 25.0) == "splashes"


@pytest.mark.parametrize("pack", [0.0, 1.0, -0.1, 1.2])
def test_bed_without_pores_or_powder_is_refused(pack):
    with pytest.raises(LawError, match="powder card"):
        wetting.saturation(1e-14, (4e-5, 4e-5), 5e-5, pack)


# ---- grains


@pytest.mark.slow
@quick
@given(d10=st.floats(1e-6, 2e-5), ratio=st.floats(1.5, 20))
def test_lognormal_agrees_with_scipy(d10, ratio):
    found = grains.lognormal(d10, d10 * ratio)
    reference = lognorm(found.sigma, scale=found.median)
    np.testing.assert_allclose(reference.ppf([0.1, 0.9]), [d10, d10 * ratio], rtol=1e-9)
    np.testing.assert_allclose(found.volume_mean, reference.mean(), rtol=1e-9)
    inverse = lognorm(found.sigma, scale=1 / found.median)  # of 1/x; its mean is surface over volume
    np.testing.assert_allclose(found.sauter, 1 / inverse.mean(), rtol=1e-9)


def test_distribution_means_agree_with_a_reference_library():
    psd = pytest.importorskip("fluids.particle_size_distribution")
    found = grains.lognormal(8e-6, 32e-6)
    reference = psd.PSDLognormal(d_characteristic=found.median, s=found.sigma)
    np.testing.assert_allclose(found.sauter, reference.mean_size(3, 2), rtol=1e-6)
    np.testing.assert_allclose(found.volume_mean, reference.mean_size(4, 3), rtol=1e-6)


@quick
@given(st.lists(st.floats(0.1, 50), min_size=3, max_size=9))
def test_curve_rises_from_pan_to_all_but_the_coarsest(retained):
    openings = [1e-4 * 2 ** (i / 2) for i in range(len(retained) - 1)]
    sizes, finer = grains.passing(openings, retained)
    assert (np.diff(sizes) > 0).all() and (np.diff(finer) > 0).all()
    np.testing.assert_allclose(finer[0], retained[-1] / sum(retained), rtol=1e-9)
    np.testing.assert_allclose(1 - finer[-1], retained[len(openings) - 1] / sum(retained), rtol=1e-6)
    assert grains.percentile(sizes, finer, finer[1]) == pytest.approx(sizes[1], rel=1e-9, abs=0)


@quick
@given(st.lists(st.floats(0.1, 50), min_size=3, max_size=8))
def test_fineness_number_lies_between_its_multipliers(retained):
    multipliers = [3, 5, 10, 20, 30, 40, 50, 70][: len(retained)]
    assert min(multipliers) <= grains.fineness_number(retained, multipliers) <= max(multipliers)


def test_blend_lies_between_its_powders_and_is_not_a_mean_of_percentiles():
    fine, coarse = ([1e-5, 2e-5, 4e-5], [0.0, 0.5, 1.0]), ([4e-5, 8e-5, 16e-5], [0.0, 0.5, 1.0])
    sizes, finer = grains.blended([fine, coarse], [3, 1])
    assert (np.diff(finer) >= 0).all() and finer[0] == 0 and finer[-1] == 1
    median = grains.percentile(sizes, finer, 0.5)
    np.testing.assert_allclose(median, exp(np.interp(2 / 3, [0.5, 1.0], np.log([2e-5, 4e-5]))), rtol=1e-9)


def test_sieve_openings_agree_with_a_reference_library():
    psd = pytest.importorskip("fluids.particle_size_distribution")
    known = {round(sieve.opening * 1e6) for sieve in psd.ASTM_E11_sieves.values()}
    assert {round(sieve.value * 1e6) for sieve in sieves()} <= known


# ---- packing


def furnas(fine, alone):
    """Packing of two sizes infinitely far apart, the upper bound: Furnas, Ind. Eng. Chem. 23 (1931) 1052."""
    return min(1 / (fine / alone + 1 - fine), alone / (1 - fine))


def westman(ratio, fine, alone):
    """Packing of two sizes: Westman, J. Am. Ceram. Soc. 19 (1936) 127, G of Yu and Standish 1993 (memory)."""
    g, coarse, q = 1 / (1.355 * ratio**1.566), 1 - fine, alone / (1 - alone)
    first, second = coarse / alone, coarse + fine / alone
    square = alone**2 + 2 * g * alone * q + q**2
    straight = -2 * (alone**2 * first + g * alone * q * (first + second) + q**2 * second)
    rest = (alone * first) ** 2 + 2 * g * alone * q * first * second + (q * second) ** 2 - 1
    return 2 * square / (-straight + (straight**2 - 4 * square * rest) ** 0.5)


@quick
@given(r=st.floats(0.02, 0.98), x=share, alone=st.floats(0.45, 0.68))
def test_real_sizes_pack_better_than_one_and_never_beyond_furnas(r, x, alone):
    sizes, shares = [1.0, r], [1 - x, x]
    assert alone - 1e-12 <= packing.linear(sizes, shares, alone) <= furnas(x, alone) + 1e-12


@pytest.mark.slow
@quick
@given(x=share, alone=st.floats(0.45, 0.68))
def test_packing_models_meet_their_limits(x, alone):
    alike, apart = [1.0, 1.0 - 1e-12], [1.0, 1e-9]
    for law in (packing.linear, packing.mixture):
        np.testing.assert_allclose(law(alike, [1 - x, x], alone), alone, rtol=1e-9)
        np.testing.assert_allclose(law(apart, [1 - x, x], alone), furnas(x, alone), rtol=1e-6)


@quick
@given(x=st.floats(0.1, 0.9), scale=st.floats(1e-6, 1e3))
def test_packing_knows_no_scale_and_no_order(x, scale):
    plain = packing.linear([1.0, 0.3, 0.1], [1 - x, x / 2, x / 2], 0.6)
    turned = packing.linear([0.1 * scale, scale, 0.3 * scale], [x / 2, 1 - x, x / 2], 0.6)
    np.testing.assert_allclose(turned, plain, rtol=1e-9)


@pytest.mark.parametrize("x", [0.1, 0.2, 0.3, 0.4, 0.5, 0.7, 0.9])
def test_two_independent_fits_agree_at_half_size(x):
    """Yu and Standish 1991 against Westman's equation with G from memory: they share no coefficient."""
    one, other = packing.mixture([1, 0.5], [1 - x, x], 0.6), westman(0.5, x, 0.6)
    np.testing.assert_allclose(one, other, rtol=0.002 / 0.63)


def test_one_size_packs_as_given():
    assert packing.linear([3e-5], [1.0], 0.61) == pytest.approx(0.61, rel=1e-12, abs=0)
    np.testing.assert_allclose(packing.compressible([1.0], [1.0], 0.6 * (1 + 1 / 4.1), 4.1), 0.6, rtol=1e-12)
    np.testing.assert_allclose(
        packing.compressible([1.0, 0.999999], [0.5, 0.5], 0.6 * (1 + 1 / 4.1), 4.1), 0.6, rtol=1e-3
    )


def test_size_that_is_not_there_changes_nothing():
    with_none = packing.linear([1.0, 0.5, 0.01], [0.7, 0.3, 0.0], 0.6)
    assert with_none == packing.linear([1.0, 0.5], [0.7, 0.3], 0.6)


# ---- powder that goes round


@quick
@given(box=st.floats(0.1, 500), pieces=st.floats(0, 1), over=st.floats(0, 1), loss=st.floats(0, 1))
def test_powder_balance_closes(box, pieces, over, loss):
    mass = reuse.balance(box, pieces * box, over, loss)
    np.testing.assert_allclose(mass.pieces + mass.lost + mass.back, mass.fed, rtol=1e-12)
    np.testing.assert_allclose(mass.pieces + mass.loose, mass.in_box, rtol=1e-12)
    assert min(mass) >= 0


@pytest.mark.slow
@quick
@given(virgin=share, builds=st.integers(1, 30))
def test_age_histogram_agrees_with_the_mean_age(virgin, builds):
    ages = np.array([1.0])
    for _ in range(builds):
        ages = reuse.mixed([[1.0], reuse.exposed(ages)], [virgin, 1 - virgin])
        np.testing.assert_allclose(ages.sum(), 1.0, rtol=1e-12)
    np.testing.assert_allclose(reuse.mean_age(ages), reuse.mean_age_after(virgin, builds), rtol=1e-9)


def test_mixed_lots_keep_their_ages():
    ages = reuse.mixed([[1.0], [0.0, 0.0, 1.0]], [3.0, 1.0])
    np.testing.assert_allclose(ages, [0.75, 0.0, 0.25], rtol=1e-12)


@quick
@given(age=st.integers(1, 40), limit=st.floats(0.001, 0.5))
def test_refresh_keeps_old_powder_to_its_limit(age, limit):
    np.testing.assert_allclose(reuse.share_older(reuse.virgin_needed(age, limit), age), limit, rtol=1e-9)


# ---- flow, sand, clock, vapour


@quick
@given(apparent=st.floats(500, 5000), more=st.floats(1, 2))
def test_carr_index_is_one_minus_the_inverse_hausner_ratio(apparent, more):
    index = flow.compressibility(apparent, apparent * more)
    np.testing.assert_allclose(1 - index, 1 / flow.hausner(apparent, apparent * more), rtol=1e-12)


def test_afs_number_of_a_kozeny_carman_bed():
    # 140 um, 41.5 % pores -> 2.274e-11 m2 -> 73.5 (worked in another program)
    number = sand.number_of(kozeny_carman(140e-6, 0.415), 1.82e-5)
    np.testing.assert_allclose(number, 73.5, rtol=1e-3)


@quick
@given(lines=st.integers(100, 1500), times=st.integers(1, 12))
def test_interleave_is_not_fooled_by_rounding(lines, times):
    native = lines / 0.0254
    assert pass_clock.interleave(1 / (1 / (times * native)), native) == times
    assert pass_clock.interleave(1.01 * times * native, native) == times + 1


def test_two_ways_to_ventilation_agree():
    """NFPA 86 form against the mass balance of EN 1539, per litre of isopropanol (both from memory)."""
    per_litre = drying.dilution_air(drying.vapour_volume(0.785, 60.1 / 28.96), 0.02) * 1e-3
    balance = drying.ventilation(0.785, drying.limit_density(0.02, 0.0601), 0.25)
    np.testing.assert_allclose(per_litre, balance, rtol=0.03)


def test_surface_heating_agrees_with_a_stepped_bed():
    """Explicit finite differences of a deep bed under constant flux."""
    k, volume_heat, time, rise = 0.2, 2.3055e6, 5.0, 30.0
    flux = drying.surface_heating(rise, time, k, volume_heat)
    step, count = 2e-5, 300
    dt = 0.4 * step**2 * volume_heat / k
    t = np.zeros(count)
    for _ in range(round(time / dt)):
        q = np.concatenate([[flux], k * (t[:-1] - t[1:]) / step, [0.0]])
        t = t + dt / (volume_heat * step) * (q[:-1] - q[1:])
    surface = t[0] + flux * step / (2 * k)
    np.testing.assert_allclose(surface, rise, rtol=0.01)
