"""How sure the furnace's forecast is: by draws through the law, never surer than the data."""

import dataclasses

import numpy as np
import pytest

import furnace_goods as hand
from sagger import cards
from sagger.physics.sintering import coarsening, drawn
from sagger.stations.bed import own_grains
from sagger.stations.sinter.path import path


def shipped(name, hold_min=None, **peak):
    """What the furnace makes of a shipped powder, its last hold changed."""
    return fired(cards.load("powder", name), hold_min, **peak)


def fired(powder, hold_min=None, **peak):
    furnace = cards.load("furnace", "metal-batch" if powder.kind == "metal" else "ceramic-batch")
    last = powder.sintering.programme[-1]
    last = dataclasses.replace(last, hold=last.hold if hold_min is None else 60 * hold_min, **peak)
    law = dataclasses.replace(powder.sintering, programme=(*powder.sintering.programme[:-1], last))
    factors = dataclasses.replace(hand.factors(), material=powder.name)
    return hand.fire((hand.green(given=factors),), dataclasses.replace(powder, sintering=law), furnace)


def width(found):
    return found.density_high - found.density_low


@pytest.mark.slow
@pytest.mark.parametrize("name", ["steel-316l", "steel-17-4ph", "alumina"])
@pytest.mark.parametrize("hold", [20, 60, 150, 600])
def test_an_interval_holds_its_density_and_never_passes_full_density(name, hold):
    found = shipped(name, hold)
    assert found.density_low < found.final_density < found.density_high < 1
    assert found.final_density_u > 0 and np.all(found.ratio_u > 0)


@pytest.mark.slow
def test_longer_holds_never_make_316l_surer_than_where_densification_is_known_to_stop():
    """Above the end density the programme no longer matters; what is not known of that end stays."""
    end = cards.load("powder", "steel-316l").sintering.end_density
    assert end.u > 0
    found = [shipped("steel-316l", hold) for hold in (60, 150, 600)]
    for each in found:
        assert width(each) > 2 * end.u
        assert np.all(each.ratio_u / each.ratio > end.u / 3 / 2)
    longest = found[-1].density_low, found[-1].density_high
    shorter = found[-2].density_low, found[-2].density_high
    assert longest[0] >= shorter[0] and longest[1] >= shorter[1]


@pytest.mark.slow
def test_the_interval_of_alumina_near_its_cap_is_longer_below():
    found = shipped("alumina")
    assert found.final_density - found.density_low > 1.2 * (found.density_high - found.final_density)


@pytest.mark.slow
def test_a_place_in_the_furnace_counts_above_the_cap_too():
    found = shipped("steel-316l", 150)
    cold, hot = found.places
    assert cold.density < found.final_density < hot.density
    assert np.all(found.ratio_u_furnace > 0) and np.all(found.ratio_per_kelvin > 0)


@pytest.mark.slow
def test_draws_are_common_to_all_programmes():
    """Row by row the longer hold shrinks more, or as much where both are at the end."""
    short, long = shipped("steel-316l", 60).ratio_draws, shipped("steel-316l", 90).ratio_draws
    assert short.shape == long.shape == (1024, 3)
    assert np.all(long <= short + 1e-12) and np.mean(long < short) > 0.3


@pytest.mark.slow
def test_draws_without_any_doubt_are_the_law_itself():
    bare = hand.sintering(
        **{name: getattr(hand.sintering(), name).value for name in ("green_density", "anisotropy_z")},
        anisotropy_y=1.02,
        viscosity_factor=0.0542,
    )
    found = hand.fire((hand.green(),), hand.powder(bare), hand.furnace(uniformity=0.0))
    np.testing.assert_allclose(found.ratio_draws, np.tile(found.ratio, (1024, 1)), rtol=1e-7)
    assert found.final_density_u < 1e-9


@pytest.mark.slow
def test_a_law_that_is_off_by_a_factor_widens_as_the_closed_form_says():
    """u of density = porosity x ln of what was lost x doubt, to first order."""
    bare = hand.sintering(
        green_density=0.55,
        anisotropy_z=1.15,
        anisotropy_y=1.0,
        viscosity_factor=0.0542,
        end_density=0.999,
        law_doubt=hand.fig(0.05),
    )
    found = hand.fire((hand.green(),), hand.powder(bare), hand.furnace(uniformity=0.0))
    left = 1 - found.final_density
    np.testing.assert_allclose(found.final_density_u, left * np.log(0.45 / left) * 0.05, rtol=0.02)


@pytest.mark.nature
@pytest.mark.parametrize(("argon", "slack"), [(0.0, 1e-6), (101325.0, 5e-4)])
def test_many_bodies_at_once_follow_the_law_of_one(argon, slack):
    """With gas they close their pores at the start of a stretch, the law of one within it."""
    programme = (hand.segment(),)
    way = path(programme, hand.furnace())
    growth, pores = coarsening.Growth(5e-6, 5e-9, 280e3, 0.05), coarsening.Pores(0.7, 20e-6)
    body = coarsening.GreenBody(0.55, 1.7, 5e-6, (coarsening.Route(0.005, 226.7e3, 2.0),))
    alone = coarsening.followed(way.time, way.temperature, body, growth, pores, argon)
    one = np.ones(3)
    bodies = drawn.BodyDraws(
        density=0.55 * one,
        speed=9 * 1.7 / (4 * 5e-6 * 0.005) * np.array([1.0, 0.5, 1.0]),
        energy=226.7e3 * one,
        exponent=2 * one,
        growth=5e-9 / 5e-6**3 * one,
        growth_energy=280e3 * one,
        drag=0.05 * one,
        closure=0.7 * one,
        capillary=2 * 1.7 / 20e-6 * one,
    )
    ends = drawn.ends(way.time, way.temperature, bodies, argon)
    np.testing.assert_allclose(ends[[0, 2]], alone.density[-1], rtol=slack)
    assert ends[1] < ends[0]


@pytest.mark.slow
def test_a_law_that_is_not_doubted_and_ends_sharply_is_too_sure():
    """Negative control: without the doubt of law and end the interval at a long hold all but closes."""
    powder = cards.load("powder", "steel-316l")
    law = powder.sintering
    law = dataclasses.replace(law, coarsening=None, closed_pores=None)
    sure = dataclasses.replace(
        law,
        law_doubt=dataclasses.replace(law.law_doubt, value=0.0),
        end_density=dataclasses.replace(law.end_density, u=0.0),
    )
    bold, doubted = (fired(dataclasses.replace(powder, sintering=each), 600) for each in (sure, law))
    assert width(bold) < 0.2 * width(doubted)


@pytest.mark.slow
def test_runs_of_the_furnace_differ_by_its_repeatability():
    """A warmer run is a denser one: shared by the load, beside the places in it."""
    found = hand.fire(
        (hand.green(),), hand.powder(hand.sintering()), hand.furnace(repeat=3.0, uniformity=9.0)
    )
    np.testing.assert_allclose(found.ratio_u_load, 3.0 * found.ratio_per_kelvin, rtol=1e-12)
    parts = np.std(found.ratio_draws, axis=0), found.ratio_u_load, found.ratio_u_furnace
    np.testing.assert_allclose(found.ratio_u, np.sqrt(sum(part**2 for part in parts)), rtol=1e-12)
    assert np.all(found.ratio_u_load > 0)


@pytest.mark.slow
@pytest.mark.parametrize(("size", "times"), [(0.8, 1 / 0.512), (2.0, 1 / 8)])
def test_grains_of_a_lot_sinter_as_herring_scales_them(size, times):
    """With the third power: twice the size, what took one hour takes eight."""
    law = hand.sintering(
        grain_size=hand.fig(20e-6),
        size_exponent=hand.fig(3.0),
        green_density=0.55,
        anisotropy_z=1.1,
        anisotropy_y=1.0,
        viscosity_factor=0.0542,
        end_density=0.999,
    )
    other = own_grains.moved(law, hand.fig(size * 20e-6))
    lost = [-np.log((1 - ended(each)) / 0.45) for each in (law, other)]
    np.testing.assert_allclose(lost[1] / lost[0], times, rtol=1e-6)
    np.testing.assert_allclose(other.capillary_radius.value / law.capillary_radius.value, size, rtol=1e-12)


def ended(law):
    return hand.fire((hand.green(),), hand.powder(law), hand.furnace(uniformity=0.0)).density[-1]
