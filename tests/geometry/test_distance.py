"""Squared distances against every cell tried."""

import numpy as np
import pytest

from sagger.geometry.wall import distance


@pytest.mark.slow
@pytest.mark.parametrize("share", [0.001, 0.02, 0.5])
@pytest.mark.parametrize("shape", [(12, 19, 11), (1, 40, 40), (64, 2, 3)])
def test_squared_distances_are_those_of_the_nearest_cell(share, shape):
    near = np.random.default_rng(7).random(shape) < share
    near[0, 0, 0] = True
    cells, marked = np.argwhere(np.ones(shape, bool)), np.argwhere(near)
    wanted = ((cells[:, None] - marked[None]) ** 2).sum(axis=2).min(axis=1).reshape(shape)
    found = distance.squared(near)
    assert found.dtype == np.int32
    np.testing.assert_array_equal(found, wanted)


def test_where_there_is_nothing_everything_is_far():
    assert (distance.squared(np.zeros((3, 4, 5), bool)) == distance.FAR).all()
    assert (distance.squared(np.ones((3, 4, 5), bool)) == 0).all()
