"""Factors from the cards, and the part at green size."""

import dataclasses

import numpy as np
import pytest

import furnace_goods as hand
from sagger.errors import InputError
from sagger.goods.order import Choices
from sagger.physics.sintering import shrinkage
from sagger.stations import shrink
from sagger.statistics import chance


def test_factors_close_the_mass_balance():
    found = shrink.predict(hand.powder(), Choices())
    np.testing.assert_allclose(np.prod(found.k), 0.964 / 0.55, rtol=1e-12)
    assert found.k[2] > found.k[1] > found.k[0] and found.origin == "card"


def test_uncertainty_is_that_of_the_card_propagated():
    card = hand.sintering()
    figures = (card.green_density, card.sintered_density, card.anisotropy_y, card.anisotropy_z)
    wanted = chance.propagated(
        lambda at: 1 / shrinkage.ratios(*at), [f.value for f in figures], [f.u for f in figures]
    )
    found = shrink.predict(hand.powder(), Choices()).u
    np.testing.assert_allclose(found, np.sqrt(np.sum(wanted**2, axis=0)), rtol=1e-3)


def test_more_doubt_about_green_density_widens_every_factor():
    wide = hand.sintering(green_density=hand.fig(0.55, 0.02))
    assert np.all(shrink.predict(hand.powder(wide), Choices()).u > shrink.predict(hand.powder(), Choices()).u)


def test_sand_for_an_alloy_is_enlarged_by_its_contraction():
    found = shrink.predict(hand.sand(), Choices(alloy="iron"))
    np.testing.assert_allclose(found.k, 1.008, rtol=1e-12)
    np.testing.assert_allclose(found.u, 0.002 / np.sqrt(3), rtol=1e-9)
    assert found.origin == "casting contraction"


def test_sand_without_alloy_keeps_its_size():
    found = shrink.predict(hand.sand(), Choices())
    assert np.all(found.k == 1) and np.all(found.u == 0)


def test_unknown_alloy_is_refused_with_those_known():
    with pytest.raises(InputError, match=r"unobtainium.*Known: iron"):
        shrink.predict(hand.sand(), Choices(alloy="unobtainium"))


def test_alloy_for_a_sintered_powder_is_refused():
    with pytest.raises(InputError, match="sintered, not cast"):
        shrink.predict(hand.powder(), Choices(alloy="iron"))


def test_part_is_turned_first_and_enlarged_in_machine_axes():
    quarter = np.array([[0.0, -1, 0], [1, 0, 0], [0, 0, 1]])
    part = hand.part(turns=np.stack([np.eye(3), quarter]))
    green = shrink.compensate(part, hand.factors(k=(1.1, 1.2, 1.3)))
    np.testing.assert_allclose(green.maps[1] @ (10, 0, 0), (0, 12, 0), rtol=1e-12)
    np.testing.assert_allclose(green.maps[1] @ (0, 10, 1), (-11, 0, 1.3), rtol=1e-12)


def test_shape_is_passed_on_as_it_is():
    part = hand.part()
    green = shrink.compensate(part, hand.factors())
    assert green.shape is part.shape and green.part is part


def test_factors_do_not_depend_on_the_kind_of_solid():
    heavy = dataclasses.replace(hand.powder(), solid_density=hand.fig(19000.0))
    found, plain = shrink.predict(heavy, Choices()), shrink.predict(hand.powder(), Choices())
    np.testing.assert_array_equal(found.k, plain.k)
