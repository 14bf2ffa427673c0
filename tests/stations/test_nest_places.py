"""Tight parts in the places where a map of the bed says that lengths come out best."""

import dataclasses
import runpy
from pathlib import Path

import numpy as np
import pytest

from sagger.errors import StopError
from sagger.goods.learned import BedMap
from sagger.goods.order import Choices, Nesting, Tolerance
from sagger.stations import nest

pytestmark = pytest.mark.slow
HAND = runpy.run_path(str(Path(__file__).parents[1] / "nest_shapes.py"))
TURNS, box, brick, green, least_gap = (HAND[name] for name in ("TURNS", "box", "brick", "green", "least_gap"))
SIZE = (120.0, 60.0, 60.0)
BOX = box(SIZE, gap=1.5, wall=2.0, floor=1.0)
WISH = Choices(nesting=Nesting(places="by tolerance"))


def bed(slope=0.04):
    """Nominal at the low wall along x, less and less dense towards the high one."""
    at = np.array([(x, y, z) for x in (0, 0.5, 1) for y in (0, 1) for z in (0, 1)]) * SIZE
    return BedMap(
        box="a test box", material="metal", places_mm=at, density=0.55 * (1 - slope * at[:, 0] / SIZE[0]),
        noise=1e-6, axes=(0, 1, 2), amplitude=0.0, reach_mm=np.array(SIZE), reference=0.55,
    )  # fmt: skip


def held_to(part, plus_minus):
    tolerance = Tolerance(kind="mm", value=plus_minus)
    request = dataclasses.replace(part.part.request, tolerance=tolerance)
    return dataclasses.replace(part, part=dataclasses.replace(part.part, request=request))


def middles(nest_, part):
    """Along x, in millimetres."""
    found = []
    for layout in nest_.layouts:
        for piece in layout.pieces:
            at = layout.greens[piece.part].shape.vertices @ piece.placement[:3, :3].T + piece.placement[:3, 3]
            found += [(at[:, 0].min() + at[:, 0].max()) / 2] if piece.part == part else []
    return np.array(found)


def test_tight_parts_lie_in_better_places_and_the_price_is_told():
    parts = (
        held_to(green("tight", brick(21, 13, 9), 8, TURNS), 0.05),
        held_to(green("loose", brick(17, 12, 11), 24, TURNS), 0.5),
    )
    asked, plain = nest.pack(parts, BOX, WISH, bed()), nest.pack(parts, BOX, Choices())
    assert middles(asked, 0).mean() < middles(plain, 0).mean() - 8.0
    (note,) = asked.layouts[0].findings
    heights = [each.layouts[0].height_mm for each in (asked, plain)]
    np.testing.assert_allclose([note.value, note.limit], heights, rtol=1e-12)
    assert heights[0] < 1.25 * heights[1]
    assert least_gap(asked.layouts[0], 3.0) >= 1.5 - 2e-5


def test_copies_of_one_shape_are_exchanged_without_any_price():
    one = green("fine", brick(20, 12, 9), 4, TURNS)
    parts = (held_to(one, 0.05), held_to(green("coarse", brick(20, 12, 9), 12, TURNS), 0.5))
    asked = nest.pack(parts, BOX, WISH, bed())
    assert middles(asked, 0).max() <= middles(asked, 1).max() - 20
    assert sorted(p.part for p in asked.layouts[0].pieces) == [0] * 4 + [1] * 12


def test_where_nothing_differs_the_nest_is_as_without():
    parts = (held_to(green("a", brick(21, 13, 9), 5, TURNS), 0.1), green("b", brick(21, 12, 8), 5, TURNS))
    plain = nest.pack(parts, BOX, Choices())
    even = nest.pack(parts, BOX, WISH, bed(slope=0.0))
    for one, two in zip(plain.layouts[0].pieces, even.layouts[0].pieces, strict=True):
        np.testing.assert_array_equal(one.placement, two.placement)


def test_without_a_map_the_wish_is_refused():
    with pytest.raises(StopError, match="approved map of the bed"):
        nest.pack((green("a", brick(21, 13, 9), 5, TURNS),), BOX, WISH)
