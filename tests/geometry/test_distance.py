"""Squared distances against scipy's, cell by cell."""

import numpy as np
import pytest
from scipy import ndimage

from sagger.geometry import distance


@pytest.mark.parametrize("share", [0.001, 0.02, 0.5])
@pytest.mark.parametrize("shape", [(20, 31, 17), (1, 40, 40), (64, 2, 3)])
def test_squared_distances_are_scipy_s(share, shape):
    near = np.random.default_rng(7).random(shape) < share
    near[0, 0, 0] = True
    wanted = np.rint(ndimage.distance_transform_edt(~near) ** 2)
    np.testing.assert_array_equal(distance.squared(near), wanted)


def test_where_there_is_nothing_everything_is_far():
    assert (distance.squared(np.zeros((3, 4, 5), bool)) == distance.FAR).all()
    assert (distance.squared(np.ones((3, 4, 5), bool)) == 0).all()
