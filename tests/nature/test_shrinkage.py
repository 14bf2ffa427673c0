"""What must hold of size, whatever the powder."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

import furnace_goods as hand
from sagger.goods.order import Choices
from sagger.physics.sintering import shrinkage
from sagger.stations import shrink

GREEN = st.floats(0.4, 0.7)
SINTERED = st.floats(0.75, 1.0)
TILT = st.floats(0.9, 1.3)
FEW = settings(max_examples=25, deadline=None)


@FEW
@given(GREEN, SINTERED, TILT, TILT)
def test_mass_is_kept(green, sintered, y, z):
    product = np.prod(shrinkage.ratios(green, sintered, y, z))
    np.testing.assert_allclose(product, green / sintered, rtol=1e-12)


@FEW
@given(GREEN, SINTERED, TILT, TILT)
def test_shrinkages_keep_their_proportions(green, sintered, y, z):
    s = 1 - shrinkage.ratios(green, sintered, y, z)
    np.testing.assert_allclose(s[1:] / s[0], [y, z], rtol=1e-9)


@FEW
@given(GREEN, SINTERED, TILT, TILT)
def test_enlarged_then_shrunk_is_the_same_part(green, sintered, y, z):
    card = hand.sintering(green_density=green, sintered_density=sintered, anisotropy_y=y, anisotropy_z=z)
    part = hand.part()
    made = shrink.compensate(part, shrink.predict(hand.powder(card), Choices()))
    printed = made.shape.vertices @ made.maps[0].T
    fired = printed * shrinkage.ratios(green, sintered, y, z)
    np.testing.assert_allclose(fired, part.shape.vertices, rtol=1e-9)


@FEW
@given(st.floats(0.4, 0.69), SINTERED)
def test_denser_powder_shrinks_less(green, sintered):
    more = shrinkage.ratios(green + 0.01, sintered, 1.02, 1.15)
    assert np.all(more > shrinkage.ratios(green, sintered, 1.02, 1.15))
