"""Labels of dots and the coupons that bear them."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
import trimesh
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from sagger.errors import InputError
from sagger.geometry.surface import dots
from sagger.geometry.surface.coupon import DEEP, DOT, KINDS, PITCH, drawn

KIND = pytest.mark.parametrize("kind", KINDS)


@pytest.mark.slow
def test_every_label_is_read_as_it_was_written():
    for series in range(dots.SERIES):
        for place in range(1, dots.PLACES):
            assert dots.read(dots.written(series, place)) == (series, place)


@pytest.mark.slow
def test_labels_differ_in_four_places_at_least():
    words = np.array([dots.written(s, p).ravel() for s in range(dots.SERIES) for p in range(1, dots.PLACES)])
    for number, word in enumerate(words):
        assert np.sum(words[number + 1 :] != word, axis=1).min(initial=16) >= 4


def test_up_to_three_wrong_dots_are_noticed():
    right = dots.written(5, 41).ravel()
    for count in (1, 2, 3):
        for places in combinations(range(16), count):
            wrong = right.copy()
            wrong[list(places)] ^= True
            with pytest.raises(InputError, match="read wrong"):
                dots.read(wrong.reshape(4, 4))


def test_noted_dots_are_read_and_slips_of_the_pen_refused():
    assert dots.told(dots.spelt(dots.written(3, 7))) == (3, 7)
    for slip in ("", "1010", "1010 0101 1010 010x", "0000 0000 0000 0000"):
        with pytest.raises(InputError):
            dots.told(slip)


@pytest.mark.parametrize(("series", "place"), [(0, 0), (32, 1), (-1, 1), (0, 64)])
def test_numbers_that_no_label_holds_are_refused(series, place):
    with pytest.raises(InputError, match="a label holds"):
        dots.written(series, place)


@KIND
def test_a_coupon_is_closed_and_has_the_sizes_it_says(kind):
    mesh = trimesh.Trimesh(*drawn(kind, dots.written(1, 9)))
    sizes = KINDS[kind]
    assert mesh.is_watertight
    np.testing.assert_allclose(mesh.bounds[0], 0, atol=1e-9)
    np.testing.assert_allclose(mesh.bounds[1], (sizes.x[-1], sizes.y[-1], sizes.z[-1]), rtol=1e-12)


@KIND
def test_its_label_takes_away_what_its_dots_and_bar_take(kind):
    blank, full = (
        trimesh.Trimesh(*drawn(kind, dots)).volume for dots in (np.zeros((4, 4), bool), np.ones((4, 4), bool))
    )
    np.testing.assert_allclose(blank - full, 16 * DOT**2 * DEEP, rtol=1e-9)


@KIND
@pytest.mark.parametrize("label", [(1, 1), (31, 63), (12, 30)])
def test_the_dots_can_be_read_from_the_surface(kind, label):
    assert dots.read(seen(*drawn(kind, dots.written(*label)), kind)) == label


def seen(vertices, triangles, kind):
    """Dots as an eye would see them from above: the floors of what is sunk into the top."""
    floor = np.abs(vertices[:, 2] - (KINDS[kind].z[-1] - DEEP)) < 1e-9
    edges = triangles[floor[triangles].all(axis=1)][:, [0, 1, 1, 2]].reshape(-1, 2)
    linked = coo_array((np.ones(len(edges)), edges.T), shape=(len(vertices),) * 2)
    _, which = connected_components(linked, directed=False)
    floors = [vertices[which == one] for one in np.unique(which[edges])]
    middles = np.array([(each.min(axis=0) + each.max(axis=0))[:2] / 2 for each in floors])
    wide = np.array([np.ptp(each, axis=0).max() > 3 * DOT for each in floors])
    first = middles[wide][0] + (PITCH, -1.5 * PITCH)  # the bar lies one pitch before the middle of row 0
    found = np.zeros((4, 4), dtype=bool)
    found[tuple(np.round((middles[~wide] - first) / PITCH).astype(int).T)] = True
    return found


def test_an_unknown_kind_is_refused():
    with pytest.raises(InputError, match="no such coupon"):
        drawn("sphere", dots.written(1, 1))
