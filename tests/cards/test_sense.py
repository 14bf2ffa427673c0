"""The shipped cards make sense together: layers, drops, layer times and furnace programmes."""

from itertools import pairwise
from math import ceil

import numpy as np
import pytest
from scipy.constants import R
from scipy.integrate import solve_ivp

from sagger import cards

POWDERS = [cards.load("powder", name) for name in cards.names("powder")]
FIRED = [powder for powder in POWDERS if powder.sintering]
HEADS = [cards.load("head", name) for name in cards.names("head")]
BOXES = [cards.load("box", name) for name in cards.names("box")]
BINDERS = [cards.load("binder", name) for name in cards.names("binder")]


def name(card):
    return card.name


@pytest.mark.parametrize("powder", POWDERS, ids=name)
def test_a_layer_holds_two_grains_and_the_large_ones(powder):
    """Common practice, no source: h >= 2 d50 and h > d90."""
    assert powder.layer.value >= 2 * powder.d50.value * (1 - 1e-9)
    assert powder.layer.value > powder.d90.value


@pytest.mark.parametrize("head", HEADS, ids=name)
@pytest.mark.parametrize("powder", POWDERS, ids=name)
def test_each_head_reaches_the_binders_saturation(powder, head):
    (binder,) = [binder for binder in BINDERS if powder.kind in binder.fits]
    cell = powder.layer.value / head.resolution_x.value / head.resolution_y.value
    drop = binder.saturation.value * (1 - powder.packing.value) * cell
    assert head.drop_least.value <= drop <= head.drop_most.value


@pytest.mark.parametrize("head", HEADS, ids=name)
def test_a_head_fires_within_its_limit(head):
    assert head.pass_speed.value * head.resolution_x.value <= head.frequency.value


@pytest.mark.parametrize("box", BOXES, ids=name)
@pytest.mark.parametrize("head", HEADS, ids=name)
def test_a_metal_layer_takes_13_to_60_seconds(head, box):
    """13, 20 and 60 s are what ordinary speeds give."""
    drying = cards.load("binder", "water-glycol").dry_time.value
    x = box.length_x.value
    swath = (head.nozzles.value - 1) / head.native_y.value
    passes = ceil(box.length_y.value / swath) * ceil(head.resolution_y.value / head.native_y.value - 1e-9)
    stroke = (x + box.over_travel.value) / head.pass_speed.value + head.turn_time.value
    spread = x / box.spread_speed.value + x / box.return_speed.value
    rest = drying + head.clean_time.value / head.clean_every.value + box.platform_time.value
    assert 13 <= spread + passes * stroke + rest <= 60


def final_density(powder, cool_rate):
    """Law of free sintering along the card's programme and down again, by an integrator of its own."""
    law = powder.sintering
    pace = 9 * law.surface_energy.value / (4 * law.capillary_radius.value * law.viscosity_factor.value)
    corners = [(0.0, 298.15)]
    for stretch in law.programme:
        up = corners[-1][0] + (stretch.target - corners[-1][1]) / stretch.rate
        corners += [(up, stretch.target), (up + stretch.hold, stretch.target)]
    corners.append((corners[-1][0] + (corners[-1][1] - 298.15) / cool_rate, 298.15))
    times, kelvins = np.array(corners).T

    def rates(time, state):
        """Of ln of what pores are left, and of the grains' volume; viscosity and radius go with the grain."""
        kelvin, (lost, volume) = np.interp(time, times, kelvins), state
        slow, grown = 1.0, 0.0
        if law.coarsening is not None:
            given, porosity = law.coarsening, (1 - law.green_density.value) * np.exp(-lost)
            slow = volume ** ((given.exponent.value + 1) / 3)
            held = (given.drag.value / (given.drag.value + porosity)) ** 1.5
            over = given.factor.value / given.grain.value**3
            grown = over * np.exp(-given.energy.value / (R * kelvin)) * held
        return pace * np.exp(-law.activation_energy.value / (R * kelvin)) / kelvin / slow, grown

    state = np.array([0.0, 1.0])
    for start, end in pairwise(times):
        if end > start:
            state = solve_ivp(rates, (start, end), state, "LSODA", rtol=1e-8, atol=1e-10).y[:, -1]
    return 1 - (1 - law.green_density.value) * np.exp(-state[0])


@pytest.mark.parametrize("powder", FIRED, ids=name)
def test_the_programme_reaches_the_sintered_density_of_its_card(powder):
    """rho = 1 - (1 - rho0) exp(-int 9 alpha / (4 r eta) dt), eta = eta_r T exp(Q / R T), cooling included."""
    furnace = cards.load("furnace", "metal-batch" if powder.kind == "metal" else "ceramic-batch")
    reached, stated = final_density(powder, furnace.cool_rate.value), powder.sintering.sintered_density.value
    np.testing.assert_allclose(reached, stated, atol=0.003, rtol=0)
    assert reached <= powder.sintering.end_density.value


@pytest.mark.parametrize("powder", FIRED, ids=name)
def test_a_green_part_is_as_dense_as_its_bed(powder):
    np.testing.assert_allclose(powder.sintering.green_density.value, powder.packing.value, rtol=1e-12)


def test_the_printer_rate_follows_from_the_inputs_its_card_names():
    """Science notes, cost: 18.6592 per hour from the inputs that the card names."""
    price, left, years, interest = 450_000, 45_000, 7, 0.06
    fixed = (price - left) / years + interest * (price + left) / 2 + 36_000 + 2_400
    rate = fixed / (8760 * 0.70) + 3 * 0.18
    box = cards.load("box", "box-400x250x250")
    np.testing.assert_allclose(box.rate.value * 3600, rate, atol=0.005, rtol=0)


@pytest.mark.parametrize("powder", FIRED, ids=name)
def test_programmes_debind_first_and_never_cool(powder):
    programme = powder.sintering.programme
    stages = [stretch.stage for stretch in programme]
    assert stages == sorted(stages) and stages[0] == "debinding"
    assert all(a.target < b.target for a, b in pairwise(programme))
