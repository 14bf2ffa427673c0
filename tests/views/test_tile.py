"""Cuts of a layer at any coarseness."""

import zlib

import numpy as np
import pytest

from sagger.geometry import raster
from sagger.views.pictures import tile

SIZE = (1100, 1307)  # rows, columns


def a_mask(bits, seed=1):
    """Drops at random, denser to the right, and how large each is."""
    rng = np.random.default_rng(seed)
    sizes = rng.integers(0, 1 << bits, SIZE) * (rng.random(SIZE) < np.linspace(0.1, 0.9, SIZE[1]))
    padded = np.pad(sizes, [(0, 0), (0, -SIZE[1] % 8)]).astype(np.uint8)
    packed = np.packbits(
        np.unpackbits(padded[..., None], axis=2)[..., 8 - bits :].reshape(SIZE[0], -1), axis=1
    )
    packed = packed[:, : (SIZE[1] * bits + 7) // 8]
    return tile.of_image(packed, SIZE[1], SIZE[0], bits), sizes


def whole(of, level):
    """All tiles of a level in one picture, lowest row first."""
    step = tile.SIDE << level
    tiles = [
        [tile.tile(of, level, column, row).astype(int) for column in range(-(-of.columns // step))]
        for row in range(-(-of.rows // step))
    ]
    return np.block(tiles)[::-1]


def means(sizes, bits, level):
    """Mean volume of the drops of each pixel; blocks are counted from high y, where the picture begins."""
    step = 1 << level
    padded = np.pad(sizes[::-1], [(0, -side % step) for side in sizes.shape])
    blocks = padded.reshape(padded.shape[0] // step, step, -1, step)
    return blocks.mean(axis=(1, 3))[::-1] / ((1 << bits) - 1)


@pytest.mark.slow
@pytest.mark.parametrize("bits", [1, 2, 4])
@pytest.mark.parametrize("level", [0, 1])
def test_a_pixel_tells_the_mean_of_its_drops(bits, level):
    of, sizes = a_mask(bits)
    np.testing.assert_allclose(whole(of, level), 255 * means(sizes, bits, level), atol=0.5 + 1e-9)


@pytest.mark.slow
@pytest.mark.parametrize("bits", [1, 2, 4])
@pytest.mark.parametrize("level", [2, 3, 4])
def test_so_it_is_far_away_where_whole_bytes_are_counted(bits, level):
    of, sizes = a_mask(bits)
    columns = SIZE[1] // 8 * 8
    image = np.tile(of.packed[:, : columns * bits // 8], (5, 4))
    many = tile.of_image(image, columns * 4, of.rows * 5, bits)
    seen = means(np.tile(sizes[:, :columns], (5, 4)), bits, level)
    np.testing.assert_allclose(whole(many, level), 255 * seen, atol=0.5 + 1e-9)


def test_runs_and_image_give_the_same_mask():
    of, sizes = a_mask(1)
    again = tile.mask(raster.from_image(sizes > 0), None, 1)
    np.testing.assert_array_equal(again.packed, of.packed)


@pytest.mark.parametrize("place", [(0, 3, 0), (0, 0, 3), (2, 1, 0), (9, 0, 0), (-1, 0, 0), (0, -1, 0)])
def test_there_is_no_tile_beyond_the_edge(place):
    with pytest.raises(IndexError):
        tile.tile(a_mask(1)[0], *place)


def test_the_coarsest_level_fits_into_one_tile():
    assert [tile.levels(*size) for size in ((512, 100), (513, 100), (18898, 11811))] == [1, 2, 7]


def test_a_tile_travels_as_rows_of_pixels():
    pixels = tile.tile(a_mask(2)[0], 0, 1, 1)
    assert zlib.decompress(tile.packed(pixels)) == pixels.tobytes()
