"""How a box is unpacked: the mass closes, what is trapped is not promised back."""

import dataclasses
from math import inf

import numpy as np
import pytest

import furnace_goods as hand
from sagger.goods.part import Unpacking
from sagger.stations import depowder

FREE = Unpacking(
    trapped_mm3=0.0,
    pockets_mm3=0.0,
    slimness=0.0,
    openings=0,
    weight_margin=inf,
    air_margin=inf,
    brush_margin=inf,
)
POWDER = hand.powder(packing=hand.fig(0.55, 0.02), loss=hand.fig(0.02), solid_density=8000.0)
DOSE = hand.dose(powder_fed=13.0, powder_in_box=11.0, powder_loose=9.0, powder_lost=0.18)


def emptied(**met):
    part = dataclasses.replace(hand.part(quantity=4), unpacking=dataclasses.replace(FREE, **met))
    greens = (hand.green(part),)
    return depowder.plan(hand.build(greens).layout, DOSE, POWDER)


@pytest.mark.parametrize("trapped", [0.0, 500.0, 1e9])
def test_what_is_loose_comes_back_is_lost_or_stays(trapped):
    found = emptied(trapped_mm3=trapped)
    np.testing.assert_allclose(found.cake + found.lost + found.trapped, 9.0, rtol=1e-12)
    assert found.cake >= 0 and found.overfed == 2.0


def test_trapped_powder_is_weighed_at_green_size():
    (each,) = emptied(trapped_mm3=1000.0).cleanings
    np.testing.assert_allclose(each.trapped, 1e-6 * 1.19 * 1.19 * 1.22 * 0.55 * 8000, rtol=1e-12)
    assert [one.what for one in emptied(trapped_mm3=1000.0).findings] == ["powder stays"]


def test_the_bed_s_uncertainty_is_that_of_what_comes_back():
    found = emptied()
    np.testing.assert_allclose(found.cake_u / found.cake, 0.02 / 0.55, rtol=1e-12)
    assert found.standing == "assumed" and found.findings == ()


@pytest.mark.parametrize(
    "weight, air, brush, means",
    [
        (9, 9, 9, "brush and air"),
        (9, 9, 2.9, "air, no brush"),
        (9, 2.9, 2.9, "neither brush nor jet"),
        (2.9, 9, 9, "support first"),
    ],
)
def test_the_weakest_wall_says_how_a_part_is_cleaned(weight, air, brush, means):
    (each,) = emptied(weight_margin=weight, air_margin=air, brush_margin=brush).cleanings
    assert each.means == means


def test_a_long_way_is_a_look_and_a_part_not_looked_at_is_said():
    assert [one.what for one in emptied(slimness=10.1, openings=1).findings] == ["long way out"]
    unseen = depowder.plan(hand.build((hand.green(),)).layout, DOSE, POWDER)
    assert unseen.cleanings[0].means == "not looked at"


def test_hands_on_time_is_the_card_s_per_litre():
    layout = hand.build((hand.green(),), height_mm=100.0).layout  # 300 x 200 x 100 mm: 6 L of 30 min
    np.testing.assert_allclose(depowder.plan(layout, DOSE, POWDER).hands_on, 3 * 3600, rtol=1e-12)


SLOW = {"piece_time": hand.fig(60.0), "channel_time": hand.fig(30.0)}
CARE = {"soft_jet_times": hand.fig(1.5), "by_hand_times": hand.fig(3.0)}


@pytest.mark.parametrize(
    "met, minutes",
    [
        ({}, 1.0),
        ({"slimness": 5.0, "openings": 2}, 2.0),  # half a minute for each opening
        ({"brush_margin": 2.9}, 1.5),
        ({"air_margin": 2.9, "brush_margin": 2.9}, 3.0),
        ({"weight_margin": 2.9, "slimness": 5.0, "openings": 1}, 3.5),
    ],
)
def test_pieces_channels_and_weak_walls_cost_hands(met, minutes):
    part = dataclasses.replace(hand.part(quantity=4), unpacking=dataclasses.replace(FREE, **met))
    layout = hand.build((hand.green(part),), height_mm=100.0).layout
    slow = dataclasses.replace(layout, box=dataclasses.replace(layout.box, **SLOW, **CARE))
    found = depowder.plan(slow, DOSE, POWDER)
    litres = 3 * 3600
    np.testing.assert_allclose(found.hands_on, litres + len(layout.pieces) * minutes * 60, rtol=1e-12)
    np.testing.assert_allclose(found.cleanings[0].hands_on, minutes * 60, rtol=1e-12)
