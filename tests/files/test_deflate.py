"""Layers deflated by our own coder, inflated by the reference library and by one that checks every code."""

import zlib

import imagecodecs
import numpy as np
import pytest

from sagger.files.deflate import deflate
from sagger.geometry.raster import halftone


def rows_of(kind, seed):
    rng = np.random.default_rng(seed)
    height, width = rng.integers(1, 60), rng.integers(1, 400)
    if kind == "noise":
        return rng.integers(0, 256, (height, width), np.uint8)
    if kind == "few":
        return rng.integers(0, 2, (height, width), np.uint8)
    if kind == "stretches":
        return np.repeat(rng.integers(0, 256, (height, width), np.uint8), rng.integers(1, 9), axis=1)
    return halftone.masks(rng.random(), int(width))[rng.integers(0, halftone.SIDE, height)]


@pytest.mark.parametrize("period", [8, 16, 32])
@pytest.mark.parametrize("kind", ["noise", "few", "stretches", "mask"])
def test_two_libraries_read_back_every_byte(kind, period):
    for seed in range(25):
        rows = rows_of(kind, seed)
        data = deflate(rows, period)
        assert zlib.decompress(data) == rows.tobytes()
        assert imagecodecs.deflate_decode(data) == rows.tobytes()  # libdeflate


@pytest.mark.parametrize("length", [1, 2, 3, 4, 257, 258, 259, 260, 261, 516, 517, 518, 100_000, 1_000_000])
@pytest.mark.parametrize("value", [0, 255])
def test_stretches_of_any_length_are_read_back(length, value):
    rows = np.full((1, length), value, np.uint8)
    data = deflate(rows, 8)
    assert zlib.decompress(data) == rows.tobytes()
    assert len(data) < 200 + length // 600


def test_codes_stay_within_fifteen_bits():
    # Counts that grow as Fibonacci's give a code one bit longer for each symbol: 24 without a limit.
    counts = [1, 1]
    while len(counts) < 25:
        counts.append(counts[-1] + counts[-2])
    rows = np.repeat(np.arange(25, dtype=np.uint8) * 10, counts)[None]
    np.random.default_rng(2).shuffle(rows[0])
    assert zlib.decompress(deflate(rows, 8)) == rows.tobytes()


def test_a_mask_costs_next_to_nothing():
    rows = np.repeat(halftone.masks(0.6, 2363), 16, axis=0)
    assert len(deflate(rows, 8)) < 1.2 * len(zlib.compress(rows.tobytes(), 1))
    assert len(deflate(rows, 8)) < rows.size / 50


def test_bytes_are_these():
    # A copy of what came out when this was written; on any machine, or files would differ between machines.
    rows = np.repeat(halftone.masks(0.37, 300), 3, axis=0)
    assert zlib.crc32(deflate(rows, 8)) == 0x979BEBB2
