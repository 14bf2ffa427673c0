"""Passes of a head over a layer: every row once, or as often as asked, whatever the head."""

from types import SimpleNamespace

import numpy as np
import pytest

from sagger.errors import StopError
from sagger.geometry import raster
from sagger.stations.layers.nozzles import made_good
from sagger.stations.layers.passes import pass_image, passes, served


def head(nozzles=64, printed=600, native=600, redundancy=1):
    values = {"nozzles": nozzles, "redundancy": redundancy}
    values |= {"resolution_y": printed / 0.0254, "native_y": native / 0.0254}
    return SimpleNamespace(**{name: SimpleNamespace(value=value) for name, value in values.items()})


def layer(rows=300, columns=50):
    return np.random.default_rng(3).random((rows, columns)) < 0.3


@pytest.mark.parametrize("dead", [frozenset(), frozenset({3, 40})])
@pytest.mark.parametrize(("printed", "redundancy"), [(600, 1), (1200, 1), (1800, 1), (600, 2), (1200, 3)])
def test_passes_print_every_drop_once(printed, redundancy, dead):
    image = layer()
    planned = passes(SimpleNamespace(rows=300), head(printed=printed, redundancy=redundancy))
    alive = served(planned, dead, 300)
    image[~alive.any(axis=1)] = False
    seen = np.zeros(image.shape, int)
    for one in planned:
        printed_rows = raster.image(pass_image(raster.from_image(image), one, alive))
        for nozzle, drops in enumerate(printed_rows):
            row = one.first + nozzle * one.step
            if 0 <= row < 300:
                seen[row] += drops
            else:
                assert not drops.any()
    np.testing.assert_array_equal(seen, image)


def test_stripes_are_as_wide_as_the_head():
    planned = passes(SimpleNamespace(rows=300), head(nozzles=64, printed=1200, native=600))
    assert len(planned) == 3 * 2  # 300 rows in swaths of 128, two interlaced passes each
    assert [one.first for one in planned] == [0, 1, 128, 129, 256, 257]


def test_rows_between_nozzles_must_be_whole():
    with pytest.raises(StopError, match="900 dpi across the pass is no multiple of the nozzles' 600 dpi"):
        passes(SimpleNamespace(rows=300), head(printed=900))


def test_a_second_turn_covers_a_dead_nozzle():
    dead = frozenset({5})
    once = passes(SimpleNamespace(rows=300), head())
    twice = passes(SimpleNamespace(rows=300), head(redundancy=2))
    np.testing.assert_array_equal(
        np.flatnonzero(~served(once, dead, 300).any(axis=1)), [5, 69, 133, 197, 261]
    )
    assert served(twice, dead, 300).any(axis=1).all()


def test_neighbours_take_the_drops_of_a_dead_nozzle():
    image = np.random.default_rng(4).random((40, 200)) < 0.2
    mended, lost = made_good(raster.from_image(image), np.array([17]))
    result = raster.image(mended)
    assert not result[17].any()
    assert lost < 0.1 * image[17].sum()
    assert result.sum() == image.sum() - lost
    np.testing.assert_array_equal(np.delete(result, [16, 17, 18], 0), np.delete(image, [16, 17, 18], 0))


def test_in_a_solid_region_the_missing_drops_are_counted():
    image = np.ones((9, 30), bool)
    mended, lost = made_good(raster.from_image(image), np.array([4]))
    assert lost == 30
    assert raster.image(mended)[4].sum() == 0
