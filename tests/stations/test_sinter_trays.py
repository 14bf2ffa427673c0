"""Trays shared by parts, tall pieces, heavy pieces, and families that do not mix."""

import dataclasses
from collections import Counter

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import furnace_goods as hand
from sagger.errors import InputError
from sagger.stations.sinter.rows import RowSize, Wanted, counts, grid, on_trays
from sagger.stations.sinter.trays import shelves_for


def load(greens, **furnace):
    return hand.fire(tuple(greens), hand.powder(), hand.furnace(**furnace))


def named(found):
    return {finding.what: finding.level for finding in found.findings}


@pytest.mark.slow
def test_two_parts_share_a_tray():
    parts = [hand.green(hand.part(quantity=count)) for count in (3, 4)]
    found = load(parts).load
    assert found.trays == 1 and found.each[0].pieces == ((0, 3), (1, 4))
    assert [fit.trays for fit in found.fits] == [1, 1]
    np.testing.assert_allclose(found.each[0].mass, 7 * found.fits[0].mass, rtol=1e-9)


def test_one_part_alone_is_laid_as_the_grid():
    for piece in ((24, 20), (20, 24), (50, 33), (140, 18)):
        best = max(piece, piece[::-1], key=lambda each: np.prod(counts(RowSize(290, 190), RowSize(*each), 3)))
        wanted = {0: Wanted(RowSize(*best), 0.0, 500)}
        trays = on_trays(wanted, RowSize(290, 190), 3, np.inf)
        assert dict(trays[0])[0] == np.prod(grid((300, 200), 5, piece, 3))


SIZES = st.tuples(st.floats(10, 150), st.floats(10, 100), st.integers(1, 40), st.floats(0.1, 2))


@settings(max_examples=25, deadline=None)
@given(st.lists(SIZES, min_size=1, max_size=5))
def test_every_piece_is_laid_once_and_no_tray_bears_too_much(parts):
    wanted = {index: Wanted(RowSize(x, y), mass, n) for index, (x, y, n, mass) in enumerate(parts)}
    trays = on_trays(wanted, RowSize(290, 190), 3, 10.0)
    laid = Counter()
    for tray in trays:
        laid.update(dict(tray))
        assert sum(wanted[part].mass * number for part, number in tray) <= 10.0 + 1e-6
        assert sum(np.prod(wanted[part].size) * number for part, number in tray) <= 290 * 190
    assert laid == Counter({index: each.number for index, each in wanted.items()})


@pytest.mark.slow
def test_mass_a_tray_bears_limits_the_pieces_on_it():
    one = hand.green(hand.part(quantity=10))
    mass = load([one]).load.fits[0].mass
    found = load([one], tray_load=3.5 * mass).load
    assert found.fits[0].per_tray == 3 and found.trays == 4
    assert named(load([one], tray_load=0.9 * mass))["tray load"] == "stop"


@pytest.mark.slow
def test_tall_piece_takes_the_shelf_above_where_the_card_says_how_far_it_is():
    tall = hand.green(hand.part(size=(20.0, 20.0, 60.0), quantity=1))  # 73 mm green, a shelf leaves 60
    assert named(load([tall]))["furnace height"] == "stop"
    found = load([tall], shelf_pitch=0.075)
    assert "furnace height" not in named(found) and found.load.each[0].shelves == 2
    assert shelves_for(0.06, hand.furnace(shelf_pitch=0.075)) == 1
    assert shelves_for(0.06 + 3 * 0.075 + 1e-6, hand.furnace(shelf_pitch=0.075)) == 0


@pytest.mark.slow
def test_runs_share_shelves_between_tall_and_low_trays():
    tall = hand.green(hand.part(size=(240.0, 150.0, 60.0), quantity=3))
    low = hand.green(hand.part(size=(240.0, 150.0, 10.0), quantity=3))
    found = load([tall, low], shelf_pitch=0.075).load  # 3 x 2 + 3 shelves of 4
    by_run = Counter()
    for tray in found.each:
        by_run[tray.run] += tray.shelves
    assert found.runs == 3 and max(by_run.values()) <= 4
    np.testing.assert_allclose(found.fill, 9 / 12, rtol=1e-12)


@pytest.mark.slow
def test_powders_of_two_families_are_not_fired_together():
    other = hand.green(given=dataclasses.replace(hand.factors(), material="other-steel"))
    with pytest.raises(InputError, match="a load is of one family"):
        load([hand.green(), other])


def test_no_piece_leaves_its_green_outline_while_it_shrinks():
    """Derived in docs/why/retraction.md: about any point inside, a smaller copy lies within the outline."""
    corners = np.array([[0, 0], [30, 0], [30, 10], [0, 10.0]])
    for anchor in ([0, 0], [15, 5], [29, 1]):
        for ratio in (0.99, 0.9, 0.83):
            shrunk = np.array(anchor) + ratio * (corners - anchor)
            assert np.all(shrunk >= 0) and np.all(shrunk <= [30, 10])
