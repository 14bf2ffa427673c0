"""Programmes that melt, that never sinter, that could be quicker; grain growth and gas from the card."""

import dataclasses

import numpy as np
import pytest

import furnace_goods as hand
from sagger.goods.good import digest
from sagger.goods.powder import ClosedPores, Coarsening
from sagger.stations.sinter import propose
from sagger.stations.sinter.path import limited


def plan(card=None, furnace=None):
    return hand.fire((hand.green(),), hand.powder(card), furnace or hand.furnace())


def named(found):
    return {finding.what: finding.level for finding in found.findings}


def solid(degc):
    return {"solidus": hand.fig(degc + 273.15)}


def coarse(factor):
    return Coarsening(
        grain=hand.fig(5e-6),
        factor=hand.fig(factor),
        energy=hand.fig(280e3),
        drag=hand.fig(0.05),
        exponent=hand.fig(3.0),
    )


@pytest.mark.slow
def test_peak_above_the_solidus_melts_and_the_hottest_place_is_seen():
    assert named(plan(hand.sintering(**solid(1369.0))))["melt-through"] == "stop"
    assert named(plan(hand.sintering(**solid(1373.0))))["melt-through"] == "look"  # the furnace is ± 5 K
    assert "melt-through" not in named(plan(hand.sintering(**solid(1376.0))))


@pytest.mark.slow
def test_programme_that_hardly_densifies_stops():
    cold = hand.sintering(programme=(hand.BURN, hand.segment(degc=900.0)))
    assert named(plan(cold))["does not sinter"] == "stop"
    only_burnt = hand.sintering(programme=(hand.BURN,))
    assert named(plan(only_burnt))["does not sinter"] == "stop"
    assert "does not sinter" not in named(plan())


@pytest.mark.slow
def test_colder_and_hotter_places_bracket_the_size():
    found = plan()
    cold, hot = found.places
    assert (cold.name, hot.name) == (
        "coldest",
        "hottest",
    ) and cold.density < found.final_density < hot.density
    half = (cold.ratio - hot.ratio) / 2
    np.testing.assert_allclose(found.ratio_u_furnace, half / np.sqrt(3), rtol=0.05)  # over draws
    assert plan(furnace=hand.furnace(uniformity=0.0)).places == ()


@pytest.mark.slow
def test_grains_that_grow_leave_a_body_less_dense():
    slow, fast = (plan(hand.sintering(coarsening=coarse(factor))) for factor in (1e-20, 5e-9))
    np.testing.assert_allclose(slow.final_density, plan().final_density, rtol=1e-6)
    assert fast.final_density < slow.final_density - 0.05
    assert fast.grain[0] == 5e-6 < fast.grain[-1]
    (words,) = [each.text for each in plan().findings if each.what == "sintered density"]
    assert "Not on the card and not counted: grain growth and gas" in words


@pytest.mark.slow
def test_argon_in_closed_pores_ends_densification_and_hydrogen_does_not():
    shut = ClosedPores(closure=hand.fig(0.92), radius=hand.fig(40e-6))
    argon = tuple(dataclasses.replace(each, atmosphere="argon") for each in (hand.BURN, hand.segment()))
    held = plan(hand.sintering(closed_pores=shut, programme=argon))
    free = plan(hand.sintering(closed_pores=shut))
    assert held.final_density < free.final_density - 0.002
    assert named(held)["gas in closed pores"] == "look" and "gas in closed pores" not in named(free)


@pytest.mark.slow
def test_uncertain_energy_leaves_the_density_at_its_pivot_alone():
    loose = hand.sintering(activation_energy=hand.fig(226.7e3, 20e3), viscosity_pivot=hand.fig(1370 + 273.15))
    tied = plan(loose).final_density_u
    adrift = plan(hand.sintering(activation_energy=hand.fig(226.7e3, 20e3))).final_density_u
    assert tied < 1.5 * plan().final_density_u and adrift > 3 * tied


@pytest.mark.slow
def test_proposal_is_quicker_dense_enough_and_within_bounds():
    card, furnace = hand.sintering(**solid(1400.0)), hand.furnace()
    found = plan(card).proposal
    assert found.run < plan(card).run and found.density >= card.sintered_density.value - 1e-4
    last = found.programme[-1]
    assert last.target <= 1400 + 273.15 - 5 - propose.MARGIN and last.hold >= propose.LEAST_HOLD
    assert all(each.rate <= furnace.rate_most.value for each in found.programme)
    kept = limited(card.programme, furnace)[0][0]
    assert digest(found.programme[0]) == digest(kept)  # debinding is not touched


@pytest.mark.slow
def test_proposal_beats_every_programme_on_a_coarse_grid():
    card, furnace = hand.sintering(**solid(1400.0)), hand.furnace()
    programme = limited(card.programme, furnace)[0]
    best = propose.proposal(programme, card, furnace).run
    for rate in (5, 7.5, 10):
        for peak in np.arange(1310, 1385, 7.0):
            held = propose._held(programme, card, furnace, rate / 60, peak + 273.15, 0.964)
            if held is not None:
                assert propose.path(held, furnace).time[-1] >= best - 90  # a whole minute and a degree


@pytest.mark.slow
def test_no_proposal_where_nothing_within_bounds_is_dense_enough():
    weak = hand.furnace(temperature=1250 + 273.15)
    assert plan(hand.sintering(), weak).proposal is None
