"""A field from scattered readings: exact where it must be, and as sure as it says."""

from __future__ import annotations

import numpy as np
import pytest

from sagger.errors import LawError
from sagger.statistics import field

SIZE = np.array([400.0, 250.0, 250.0])


def places(random, count):
    return random.random((count, 3)) * SIZE


@pytest.mark.nature
def test_a_plane_is_found_again_and_continued():
    random = np.random.default_rng(1)
    at = places(random, 12)
    plane = 0.55 + at @ [1e-5, -2e-5, 3e-5]
    of = field.shape(at, plane, SIZE, 1e-5)
    np.testing.assert_allclose(
        field.seen(at, plane, of, 1.5 * at).mean, 0.55 + 1.5 * at @ [1e-5, -2e-5, 3e-5], rtol=1e-5
    )


@pytest.mark.slow
def test_noise_about_a_plane_is_not_taken_for_a_field():
    kept = 0
    for seed in range(20):
        random = np.random.default_rng(seed)
        at = places(random, 20)
        kept += field.shape(at, 0.55 + random.normal(0, 1e-3, 20), SIZE, 1e-4).amplitude > 0
    assert kept <= 3


def test_readings_without_noise_are_met():
    random = np.random.default_rng(3)
    at = places(random, 15)
    of = field.FieldModel((0, 1, 2), 0.01, SIZE / 3, 1e-7)
    values = random.normal(0.55, 0.01, 15)
    seen = field.seen(at, values, of, at)
    np.testing.assert_allclose(seen.mean, values, rtol=1e-6)
    assert seen.u.max() < 1e-6


@pytest.mark.nature
def test_far_from_any_reading_doubt_is_that_of_the_field_and_the_plane():
    at = np.array([[0.0, 0, 0], [1, 0, 0], [2, 0, 0], [3, 0, 0]])
    of = field.FieldModel((), 0.5, np.full(3, 0.1), 0.1)
    seen = field.seen(at, np.array([1.0, 2.0, 3.0, 2.0]), of, np.array([[90.0, 0, 0]]))
    np.testing.assert_allclose(seen.mean, 2.0, rtol=1e-12)  # the readings are far apart: their plain mean
    np.testing.assert_allclose(seen.u, np.sqrt(0.25 + 0.26 / 4), rtol=1e-12)


@pytest.mark.slow
def test_the_field_is_as_sure_as_it_says():
    """Fields drawn from the law itself lie within two standard uncertainties in about 95 % of places."""
    random, hits = np.random.default_rng(7), []
    for _ in range(30):
        at, new = places(random, 25), places(random, 40)
        both = np.concatenate([at, new])
        of = field.FieldModel((0, 1, 2), 0.004, SIZE * 0.6, 0.001)
        apart = (both[:, None] - both[None]) / of.reach
        whole = of.amplitude**2 * np.exp(-0.5 * (apart**2).sum(axis=2)) + 1e-12 * np.eye(65)
        truth = 0.55 + 2e-5 * both[:, 0] + np.linalg.cholesky(whole) @ random.normal(size=65)
        seen = field.seen(at, truth[:25] + random.normal(0, of.noise, 25), of, new)
        hits.append(np.abs(seen.mean - truth[25:]) <= 1.96 * seen.u)
    assert 0.93 <= np.mean(hits) <= 0.97


def test_too_few_places_are_refused():
    with pytest.raises(LawError, match="6 places at least, got 4"):
        field.shape(np.arange(12.0).reshape(4, 3) * [1, 2, 3], np.arange(4.0), np.ones(3), 0.1)
