"""The proposed debinding stage keeps the planned one's peaks; limits go with thickness and fineness."""

import numpy as np
import pytest
from scipy.constants import atm

import furnace_goods as hand
from sagger import cards
from sagger.physics.burnout import binder_loss, burnout_pace
from sagger.stations.sinter import binder_left, debind_pace, debind_wall, debinding
from sagger.stations.sinter.path import limited, path

CELLS = {"steel-316l": "metal-batch", "steel-17-4ph": "metal-batch", "alumina": "ceramic-batch"}
LEFT = binder_left.Residue(share=0.01, molar_mass=0.1, viscosity=3e-5)
ENERGY, FREQUENCY = 242e3, binder_loss.frequency(242e3, 708.15, 10 / 60)


def found(powder="steel-316l", size=10.0, share=0.01):
    card, furnace = cards.load("powder", powder), cards.load("furnace", CELLS[powder])
    programme, _ = limited(card.sintering.programme, furnace)
    greens = (hand.green(hand.part((4.0, 4.0, 4.0))), hand.green(hand.part((size, size, size))))
    way = path(programme, furnace)
    left = LEFT._replace(share=share)
    made = debinding.debinding(way, programme, greens, card, left, furnace)
    return made, list(debinding.findings(made, greens, card)), furnace


@pytest.mark.parametrize(
    "powder, size", [("steel-316l", 10), ("steel-17-4ph", 15), ("alumina", 10), ("alumina", 30)]
)
def test_the_proposal_is_shorter_at_the_same_peaks_and_burns_as_much(powder, size):
    made, _, furnace = found(powder, size)
    planned, proposed = made.planned, made.proposed
    assert proposed.time < 0.95 * planned.time
    assert proposed.overpressure <= planned.overpressure and proposed.loss <= planned.loss
    assert proposed.gone >= 0.999
    assert made.proposal[-1].target == planned_end(powder).target and made.proposal[-1].hold > 0
    assert max(each.rate for each in made.proposal) <= furnace.rate_most.value + 1e-12


def planned_end(powder):
    programme = cards.load("powder", powder).sintering.programme
    return programme[debind_wall.stage_end(programme)]


def test_the_proposal_does_what_it_says_when_it_is_run():
    made, _, furnace = found("alumina", 20)
    card = cards.load("powder", "alumina")
    one = debind_wall.wall(made.wall, card, card.sintering, LEFT)
    again = debind_wall.course(one, path(made.proposal, furnace), made.proposal)
    np.testing.assert_allclose(again.overpressure, made.proposed.overpressure, rtol=1e-9)
    kelvin = path(made.proposal, furnace).temperature
    fine = np.linspace(0, 1, 200_001) * path(made.proposal, furnace).time[-1]
    temperature = np.interp(fine, path(made.proposal, furnace).time, kelvin)
    gone = binder_loss.gone(fine, temperature, one.energy, one.frequency)
    loss = binder_loss.loss_rate(gone, temperature, one.energy, one.frequency)
    assert loss.max() <= 1.02 * made.planned.loss  # between the points at which it was searched


def test_where_the_planned_stage_presses_too_hard_one_is_proposed_that_does_not():
    made, findings, _ = found("alumina", 60, share=0.03)
    assert made.planned.overpressure > made.allowed >= made.proposed.overpressure
    assert made.proposed.loss < 0.5 * made.planned.loss
    assert [each.level for each in findings if each.what == "debinding pressure"] == ["look"]


def test_a_wall_whose_middle_lags_far_behind_gets_no_proposal_but_a_look():
    made, findings, _ = found(size=40)
    assert made.proposal == () and made.proposed is None and made.lag > debinding.LAG
    assert "debinding lag" in [each.what for each in findings if each.level == "look"]


def test_the_thickest_wall_is_the_one_that_is_judged_and_the_limit_wall_just_bears_it():
    made, _, _ = found(size=10)
    assert made.part == 1
    bare, _, _ = found(size=10 * made.wall_by_law / made.wall)
    np.testing.assert_allclose(bare.planned.overpressure, made.allowed, rtol=1e-6)


def test_limits_go_with_fineness_squared_over_thickness_squared():
    made, _, _ = found()
    by = {(round(each.wall / made.wall, 6), round(each.grain / 16e-6, 6)): each.rate for each in made.limits}
    np.testing.assert_allclose(by[1, 1], made.rate_limit, rtol=1e-12)
    np.testing.assert_allclose([by[2, 1], by[1, 2]], [made.rate_limit / 4, 4 * made.rate_limit], rtol=1e-12)
    assert 0.2 < made.rate_limit_u / made.rate_limit < 0.6  # a factor of two in the pores, and the kinetics


def test_no_binder_no_debinding():
    assert found(share=0.0)[0] is None


@pytest.mark.parametrize("loss", [1e-3, 1e-5])
def test_the_quickest_path_is_at_one_of_its_two_limits_all_the_way(loss):
    pace = burnout_pace.quickest(293.15, 873.15, 5 / 60, burnout_pace.Bound(loss, 1e9), ENERGY, FREQUENCY)
    rate = binder_loss.loss_rate(pace.gone, pace.temperature, ENERGY, FREQUENCY)
    heating = np.diff(pace.temperature) / np.diff(pace.time)
    assert rate.max() <= 1.01 * loss and heating.max() <= 5 / 60 * (1 + 1e-9)
    at_limit = (rate[1:] > 0.97 * loss) | (heating > 0.97 * 5 / 60)
    assert np.average(at_limit, weights=np.diff(pace.time)) > 0.98
    exact = binder_loss.gone(pace.time, pace.temperature, ENERGY, FREQUENCY)
    np.testing.assert_allclose(pace.gone, exact, rtol=0, atol=1e-6)


def test_the_pressed_bound_is_the_pressure_allowed_turned_round():
    flow = binder_loss.Flow(1.2e-13, 3e-5, 0.1)
    bound = burnout_pace.pressed(10e3, 0.01, 46.0, flow, atm)
    kelvin = 700.0
    over = binder_loss.overpressure(46.0 * bound / kelvin, 0.01, kelvin, flow, atm)
    np.testing.assert_allclose(over, 10e3, rtol=1e-9)


def test_rates_are_rounded_down():
    for value in (4.999, 0.2399, 0.07, 12.0):
        rounded = debind_pace._down(value)
        assert 0.9 * value < rounded <= value + 1e-12


def test_no_wall_is_promised_that_nobody_published():
    made, findings, _ = found(size=10)
    assert made.wall_most < made.wall_by_law  # gas alone would let a fist through
    printed = 25e-3 * float(hand.green().factors.k.max())  # the card's, at green size
    np.testing.assert_allclose(made.wall_most, printed, rtol=1e-9)
    assert "are in print" in debinding.borne(made) and f"{printed * 1e3:.3g} mm" in debinding.borne(made)
    assert "thick wall" not in [each.what for each in findings]
    assert "thick wall" in [each.what for each in found(size=40)[1]]


def test_a_wall_twice_as_thick_is_heated_four_times_as_slowly_one_with_twice_the_binder_twice():
    made, _, _ = found()
    card = cards.load("powder", "steel-316l")
    one = debind_wall.wall(made.wall, card, card.sintering, LEFT)
    thick, rich = one._replace(half=2 * one.half), one._replace(binder=2 * one.binder)
    rates = [debind_wall.rate_limit(wall, 1000.0, atm) for wall in (one, thick, rich)]
    np.testing.assert_allclose(rates[1:], [rates[0] / 4, rates[0] / 2], rtol=1e-12)
