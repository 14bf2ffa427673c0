"""Pieces at the oversize of their own place."""

import dataclasses
import runpy
from pathlib import Path

import numpy as np
import pytest
import trimesh

from sagger.errors import StopError
from sagger.goods.learned import BedMap
from sagger.goods.order import Choices
from sagger.stations import nest

pytestmark = pytest.mark.slow
HAND = runpy.run_path(str(Path(__file__).parents[1] / "nest_shapes.py"))
FIXED, TURNS, UPRIGHT, angle, box, brick, green, least_gap = (
    HAND[name] for name in ("FIXED", "TURNS", "UPRIGHT", "angle", "box", "brick", "green", "least_gap")
)


def sloping(share, size=(120.0, 60.0, 40.0)):
    """A bed whose green density falls by this share from the low to the high wall along x."""
    at = np.array([(x, y, z) for x in (0, 0.5, 1) for y in (0, 1) for z in (0, 1)]) * size
    return BedMap(
        box="a test box",
        material="metal",
        places_mm=at,
        density=0.55 * (1 - share * (at[:, 0] / size[0] - 0.5)),
        noise=1e-6,
        axes=(0, 1, 2),
        amplitude=0.0,
        reach_mm=np.array(size),
        reference=0.55,
    )


PARTS = (green("angle", angle(30, 24, 20, 3), 4, TURNS), green("ball", trimesh.creation.icosphere(2, 8.0), 6))
BOX = box((120, 60, 40), gap=1.5, wall=2.0, floor=1.0)


def size_of(layout, piece):
    at = layout.greens[piece.part].shape.vertices @ piece.placement[:3, :3].T + piece.placement[:3, 3]
    middle = (at.min(axis=0) + at.max(axis=0)) / 2
    return middle, np.cbrt(np.linalg.det(piece.placement[:3, :3]))


def test_each_piece_gets_the_oversize_of_its_place_to_a_twentieth_of_a_permille():
    layout = nest.pack_by_place(PARTS, BOX, Choices(), sloping(0.04)).layouts[0]
    found = [size_of(layout, piece) for piece in layout.pieces]
    wanted = [(1 - 0.04 * (middle[0] / 120 - 0.5)) ** (-1 / 3) for middle, _ in found]
    np.testing.assert_allclose([own for _, own in found], wanted, rtol=0, atol=0.6e-4)
    assert np.ptp([own for _, own in found]) > 0.004


def test_the_gap_that_was_asked_for_holds_between_pieces_of_their_own_size():
    layout = nest.pack_by_place(PARTS, BOX, Choices(), sloping(0.04)).layouts[0]
    assert layout.gap_mm == 1.5
    assert least_gap(layout, 5.0) >= 1.5 - 2e-5
    assert layout.least_gap_mm >= 1.5 - 1e-6
    assert layout.wall_gap_mm >= 1.0 - 1e-6


def test_an_even_bed_changes_no_size():
    layout = nest.pack_by_place(PARTS, BOX, Choices(), sloping(0.0)).layouts[0]
    plain = nest.pack(PARTS, BOX, Choices()).layouts[0]
    assert all((a.placement == b.placement).all() for a, b in zip(layout.pieces, plain.pieces, strict=True))


def test_copies_in_a_bed_that_slopes_share_their_sizes():
    parts = (green("cube", brick(6, 6, 6), 60),)
    layout = nest.pack_by_place(parts, BOX, Choices(), sloping(0.01)).layouts[0]
    assert len({piece.placement[2, :3].tobytes() for piece in layout.pieces}) < 36


def test_a_piece_that_only_fits_at_mean_size_is_refused():
    loose = dataclasses.replace(sloping(0.0), reference=0.56)
    parts = (green("plank", brick(116, 10, 5), 1),)
    with pytest.raises(StopError, match="but not at that of its own place"):
        nest.pack_by_place(parts, BOX, Choices(), loose)
