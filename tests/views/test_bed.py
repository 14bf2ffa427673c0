"""The picture of a nested box."""

from __future__ import annotations

import dataclasses
import io

import numpy as np
import pytest
from PIL import Image

from sagger.goods.job import Job
from sagger.views.pictures import bed
from sagger.views.pictures.palette import colour


def pixels(png: bytes) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(png)).convert("RGB")).astype(int)


def near(image: np.ndarray, rgb: tuple[int, int, int]) -> np.ndarray:
    """Where the hue of `rgb` stands, whatever its shade."""
    tone = np.array(rgb) / max(rgb)
    level = image.max(axis=2, keepdims=True)
    return (np.abs(image / np.maximum(level, 1) - tone).max(axis=2) < 0.06) & (level[..., 0] > 60)


def test_each_part_shows_in_its_colour(job: Job) -> None:
    seen = pixels(bed.picture(job.builds[0].layout, 400))
    for part in range(len(job.parts)):
        assert near(seen, colour(part)).sum() > 100
    assert not near(seen, colour(2)).any()


def test_from_above_pieces_lie_where_the_layout_says(job: Job) -> None:
    seen = near(pixels(bed.picture(job.builds[0].layout, 800, view=bed.ABOVE)), colour(0))
    rows, columns = np.nonzero(seen)
    scale = (800 - 2 * 800 / 9) / 160  # pixels per mm; the box is 160 mm long
    np.testing.assert_allclose(columns.min(), 800 / 9 + 3 * scale, atol=2)  # part 0 begins at x = 3 mm
    bottom = seen.shape[0] / 2 + (65 / 2 - 5) * scale  # and at y = 5 of 65 mm
    np.testing.assert_allclose(rows.max(), bottom, atol=2)


def test_same_layout_same_bytes_and_labels_change_them(job: Job) -> None:
    layout = job.builds[0].layout
    assert bed.picture(layout, 300) == bed.picture(layout, 300)
    assert bed.picture(layout, 700, labels=True) != bed.picture(layout, 700)


def test_a_picture_is_as_high_as_the_box_needs_but_no_higher_than_asked(job: Job) -> None:
    layout = job.builds[0].layout
    low = pixels(bed.picture(layout, 400, view=bed.FRONT))
    assert low.shape[:2] == pytest.approx((400 * (17.4 * 7 / 9 / 160 + 1 / 9), 400), rel=0.03, abs=0)
    assert pixels(bed.picture(layout, 400, 80)).shape == (80, 400, 3)


def test_an_empty_box_still_shows_its_edges(job: Job) -> None:
    empty = dataclasses.replace(job.builds[0].layout, pieces=())
    assert (pixels(bed.picture(empty, 300)) < 100).any()
