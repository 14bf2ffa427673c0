"""Pictures of a layer: exact cover, y upwards."""

from __future__ import annotations

import io

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from PIL import Image

from sagger.geometry.raster import Runs
from sagger.views.pictures import layer

PITCH = (0.0635, 0.0635)


def runs_of(bits: np.ndarray) -> Runs:
    """Runs of an image of 0 and 1, row 0 first."""
    start, at = [0], []
    for row in bits:
        at += list(np.flatnonzero(np.diff(np.r_[0, row, 0])))
        start.append(len(at))
    return Runs(
        columns=bits.shape[1], rows=bits.shape[0], start=np.array(start, np.int32), at=np.array(at, np.int32)
    )


def grey(png: bytes) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(png)))


bitmaps = arrays(np.uint8, st.tuples(st.integers(1, 30), st.integers(1, 30)), elements=st.integers(0, 1))


@pytest.mark.slow
@given(bitmaps, st.integers(1, 40), st.integers(1, 40))
@settings(max_examples=60, deadline=None)
def test_cover_adds_up_to_the_drops(bits: np.ndarray, columns: int, rows: int) -> None:
    cover = layer.coverage(runs_of(bits), columns, rows)
    drops_per_cell = bits.size / (columns * rows)
    np.testing.assert_allclose(cover.sum() * drops_per_cell, bits.sum(), rtol=1e-9, atol=1e-9)


@given(bitmaps, st.integers(1, 4), st.integers(1, 5))
@settings(max_examples=40, deadline=None)
def test_cover_of_whole_blocks_is_their_mean(bits: np.ndarray, wide: int, high: int) -> None:
    large = np.kron(bits, np.ones((high, wide), np.uint8))  # any image, as blocks of equal drops
    np.testing.assert_allclose(layer.coverage(runs_of(large), *bits.shape[::-1]), bits, atol=1e-9)


def test_the_whole_bed_has_row_0_at_the_bottom_left_column_0() -> None:
    bits = np.zeros((40, 80), np.uint8)
    bits[2:6, 3:13] = 1
    dark = grey(layer.picture(runs_of(bits), PITCH, 80))[:40] < 60
    np.testing.assert_array_equal(np.argwhere(dark).min(axis=0), (34, 3))
    np.testing.assert_array_equal(np.argwhere(dark).max(axis=0), (37, 12))


def test_a_half_covered_pixel_is_half_dark() -> None:
    bits = np.tile(np.array([[1, 0], [1, 0]], np.uint8), (20, 40))
    middle = grey(layer.picture(runs_of(bits), PITCH, 40))[10, 20]
    assert abs(int(middle) - (255 + 20) / 2) <= 1


def test_each_drop_of_a_crop_is_a_square_of_its_own() -> None:
    bits = np.random.default_rng(5).integers(0, 2, (30, 50), np.uint8)
    png = grey(layer.crop(runs_of(bits), PITCH, (7, 4, 20, 10), 12))
    squares = png[:120, :240].reshape(10, 12, 20, 12)[:, 6, :, 6] < 60
    np.testing.assert_array_equal(squares[::-1], bits[4:14, 7:27] > 0)


def test_drops_of_unlike_pitch_keep_their_shape() -> None:
    png = grey(layer.crop(runs_of(np.ones((5, 5), np.uint8)), (0.05, 0.1), (0, 0, 5, 5), 10))
    assert png.shape[1] == 50
    assert (png[:, 25] < 60).sum() == 5 * (20 - 1) - 1  # squares less their grid line, less the frame below


def test_the_edge_window_shows_drops_and_bare_powder() -> None:
    y, x = np.mgrid[:300, :500]
    bits = (np.hypot(x - 350, y - 120) < 60).astype(np.uint8)
    column, row, columns, rows = layer.edge(runs_of(bits), 40, 24)
    window = bits[row : row + rows, column : column + columns]
    assert window.shape == (24, 40)
    assert 0.2 < window.mean() < 0.8


def test_a_blank_layer_has_a_window_and_a_picture() -> None:
    blank = runs_of(np.zeros((30, 50), np.uint8))
    window = layer.edge(blank, 64, 40)
    assert window == (0, 0, 50, 30)
    assert grey(layer.picture(blank, PITCH, 100, window)).shape[1] == 100
