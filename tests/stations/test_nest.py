"""What the nest does with parts and boxes where the answer is known."""

import dataclasses
import runpy
from pathlib import Path

import numpy as np
import pytest
import trimesh

from sagger.errors import StopError
from sagger.geometry.pile.judge.clearance import apart, surface
from sagger.goods.good import digest
from sagger.goods.layout import Layout
from sagger.goods.order import Choices, Spot
from sagger.stations import nest
from sagger.stations.nest.check import measure
from sagger.stations.nest.held import HeldPieces, Still, Zone
from sagger.stations.nest.pack import packed
from sagger.stations.nest.room import room

pytestmark = pytest.mark.slow

HAND = runpy.run_path(str(Path(__file__).parents[1] / "nest_shapes.py"))
FIXED, TURNS, UPRIGHT, angle, box, brick, green, least_gap = (
    HAND[name] for name in ("FIXED", "TURNS", "UPRIGHT", "angle", "box", "brick", "green", "least_gap")
)


def test_eight_cubes_make_one_layer():
    layout = nest.pack((green("cube", brick(10, 10, 10), 8),), box((46, 22, 50), gap=2.0), Choices()).layouts[
        0
    ]
    np.testing.assert_allclose(layout.height_mm, 10.0, rtol=1e-9)
    np.testing.assert_allclose(layout.least_gap_mm, 2.0, rtol=1e-9)
    np.testing.assert_allclose(layout.density, 8000 / (46 * 22 * 10), rtol=1e-9)


def test_twelve_bricks_make_three_layers_between_the_gaps():
    parts = (green("brick", brick(10, 20, 5), 12),)
    layout = nest.pack(parts, box((28, 48, 60), gap=2.0, wall=3.0, floor=1.0), Choices()).layouts[0]
    np.testing.assert_allclose(layout.height_mm, 1 + 3 * 5 + 2 * 2, rtol=1e-9)
    np.testing.assert_allclose(layout.wall_gap_mm, 1.0, rtol=1e-9)


def test_tall_bricks_lie_down_when_they_may():
    parts = (green("post", brick(10, 10, 40), 4, TURNS),)
    layout = nest.pack(parts, box((42, 48, 60), gap=2.0), Choices()).layouts[0]
    np.testing.assert_allclose(layout.height_mm, 10.0, rtol=1e-9)


def test_cups_stand_in_one_another():
    cup = trimesh.creation.revolve([(0, 0), (8, 0), (12, 30), (10.5, 30), (6.5, 1.5), (0, 1.5)])
    layout = nest.pack((green("cup", cup, 5),), box((26, 26, 90), gap=0.5), Choices()).layouts[0]
    assert layout.height_mm < 30 + 4 * 14
    assert least_gap(layout, 5.0) > 0.5 - 1e-4


def test_angles_nest_lower_than_their_boxes():
    parts = (green("angle", angle(30, 24, 20, 3), 12, TURNS),)
    layout = nest.pack(parts, box((100, 70, 100), gap=1.0), Choices()).layouts[0]
    assert layout.height_mm <= 24.0 + 1e-9


def test_a_full_box_is_followed_by_another_and_numbers_run_on():
    parts = (green("cube", brick(10, 10, 10), 10), green("slab", brick(22, 10, 10), 2))
    layouts = nest.pack(parts, box((22, 22, 22), gap=2.0), Choices()).layouts
    assert [layout.number for layout in layouts] == [1, 2]
    pieces = [piece for layout in layouts for piece in layout.pieces]
    assert [piece.number for piece in pieces if piece.part == 0] == list(range(1, 11))
    assert [piece.number for piece in pieces if piece.part == 1] == [1, 2]


def test_earlier_due_dates_go_into_the_first_box():
    parts = (
        green("late", brick(10, 10, 10), 4, due="2027-03-01"),
        green("soon", brick(10, 10, 10), 4, due="2027-01-01"),
    )
    layouts = nest.pack(parts, box((22, 22, 10), gap=2.0), Choices()).layouts
    assert {piece.part for piece in layouts[0].pieces} == {1}
    assert {piece.part for piece in layouts[1].pieces} == {0}


def test_oversize_factors_are_along_machine_axes():
    parts = (green("bar", brick(20, 10, 10), 1, UPRIGHT, k=(1.1, 1.2, 1.3)),)
    layout = nest.pack(parts, box((12, 30, 30), gap=1.0), Choices()).layouts[0]
    piece = layout.pieces[0]
    at = layout.greens[0].shape.vertices @ piece.placement[:3, :3].T
    np.testing.assert_allclose(np.ptp(at, axis=0), [11.0, 24.0, 13.0], rtol=1e-12)
    np.testing.assert_allclose(layout.volume_mm3, 11 * 24 * 13, rtol=1e-9)
    assert layout.least_gap_mm == np.inf


def test_the_gap_of_the_choices_comes_before_that_of_the_box():
    parts = (green("cube", brick(10, 10, 10), 2),)
    layout = nest.pack(parts, box((40, 10, 10), gap=2.0), Choices(gap_mm=5.0)).layouts[0]
    assert layout.gap_mm == 5.0
    assert layout.least_gap_mm >= 5.0 - 1e-6


def test_a_part_too_big_is_refused_with_by_how_much():
    parts = (green("long bar", brick(60.25, 8, 8), 1, UPRIGHT),)
    with pytest.raises(
        StopError, match=r"'long bar'.*a test box.*60\.25 x 8\.00 x 8\.00 mm.*6\.25 mm too big"
    ):
        nest.pack(parts, box((60, 40, 30), gap=2.0, wall=3.0), Choices())


def test_a_long_part_stands_up_if_that_is_the_only_way():
    parts = (green("rod", brick(60, 8, 8), 1, TURNS),)
    layout = nest.pack(parts, box((40, 40, 70), gap=2.0), Choices()).layouts[0]
    np.testing.assert_allclose(layout.height_mm, 60.0, rtol=1e-9)


def test_a_broken_layout_is_found_by_the_check():
    layout = nest.pack((green("cube", brick(10, 10, 10), 2),), box((30, 30, 30), gap=2.0), Choices()).layouts[
        0
    ]
    space = room(layout.box, Choices(gap_mm=2.5))
    with pytest.raises(StopError, match=r"number 1.*number 2.*2\.0000 mm apart, 2\.5 mm were asked"):
        measure(layout.greens, layout.pieces, space)


def test_same_seed_same_bytes():
    parts = (
        green("angle", angle(30, 24, 20, 3), 6, TURNS),
        green("ball", trimesh.creation.icosphere(2, 8.0), 4),
    )
    first, again = (nest.pack(parts, box((80, 60, 80), gap=1.0), Choices(seed=7)) for _ in range(2))
    assert digest(first) == digest(again)


def test_nothing_to_do_gives_no_boxes():
    assert nest.pack((), box((10, 10, 10), gap=1.0), Choices()).layouts == ()


def lifted(layout: Layout) -> list[float]:
    """Least distance of each piece to those before it while it is lifted straight up out of the box."""
    shapes = [layout.greens[piece.part].shape for piece in layout.pieces]
    corners = [shape.vertices[shape.triangles] for shape in shapes]
    trees = [
        surface(at @ piece.placement[:3, :3].T) for at, piece in zip(corners, layout.pieces, strict=True)
    ]
    out = []
    for k in range(len(trees) - 1, 0, -1):
        for rise in np.linspace(0, 1, 25) * layout.height_mm:
            up = layout.pieces[k].placement[:3, 3] + (0, 0, rise)
            out.append(
                min(apart(trees[m], trees[k], up - layout.pieces[m].placement[:3, 3], 9.0) for m in range(k))
            )
    return out


def test_every_piece_can_be_lifted_out_last_one_first():
    parts = (
        green("angle", angle(30, 24, 20, 3), 5, TURNS),
        green("ball", trimesh.creation.icosphere(2, 8.0), 3),
    )
    layout = nest.pack(parts, box((60, 60, 90), gap=1.0), Choices()).layouts[0]
    assert min(lifted(layout)) >= 1.0 - 1e-6


def test_fixed_parts_keep_their_orientation():
    layout = nest.pack(
        (green("post", brick(5, 5, 20), 3, FIXED),), box((30, 30, 40), gap=1.0), Choices()
    ).layouts[0]
    assert all((piece.placement[:3, :3] == np.eye(3)).all() for piece in layout.pieces)


def test_pieces_that_would_touch_are_refused():
    with pytest.raises(StopError, match="gap above 0"):
        nest.pack((green("cube", brick(9, 9, 9), 2),), box((30, 30, 30), gap=2.0), Choices(gap_mm=0.0))
    with pytest.raises(StopError, match="leaves no room"):
        nest.pack((green("cube", brick(9, 9, 9), 2),), box((30, 30, 30), gap=2.0, wall=15.0), Choices())


BARS_AND_TILES = (green("bar", brick(30, 4, 4), 6, TURNS), green("tile", brick(14, 14, 4), 8, TURNS))


@pytest.mark.parametrize("height", [60.0, 4.0])
def test_what_fits_in_one_layer_lies_in_one_layer_of_one_box(height):
    layouts = nest.pack(BARS_AND_TILES, box((62, 62, height), gap=1.0), Choices()).layouts
    assert len(layouts) == 1
    np.testing.assert_allclose(layouts[0].height_mm, 4.0, rtol=1e-9)


def at(layout: Layout, piece) -> np.ndarray:
    shape = layout.greens[piece.part].shape
    return shape.vertices @ piece.placement[:3, :3].T + piece.placement[:3, 3]


def test_held_pieces_stay_where_they_are_and_others_keep_their_gap():
    parts = (green("coupon", brick(4, 4, 12), 0), green("angle", angle(30, 24, 20, 3), 5, TURNS))
    places = [(3.0, 3.25, 1.5), (41.37, 30.111, 4.0), (53.0, 53.0, 0.0)]
    held = HeldPieces(stills=tuple(Still(0, 0, place) for place in places))
    layout = packed(parts, box((60, 60, 90), gap=1.0), Choices(), held).layouts[0]
    coupons = [at(layout, piece).min(axis=0) for piece in layout.pieces if piece.part == 0]
    np.testing.assert_allclose(sorted(map(tuple, coupons)), sorted(places), rtol=0, atol=1e-9)
    assert len(layout.pieces) == 8
    assert least_gap(layout, 5.0) >= 1.0 - 2e-5


def asking(name, mesh, spots, k=(1.0, 1.0, 1.0), loose=0):
    """A part of which a piece is held at each spot, and some more are nested."""
    made = green(name, mesh, len(spots) + loose, k=k)
    request = dataclasses.replace(made.part.request, held=tuple(Spot(x=x, y=y, z_mm=z) for x, y, z in spots))
    return dataclasses.replace(made, part=dataclasses.replace(made.part, request=request))


def test_pieces_asked_for_at_spots_lie_there_side_by_side_and_the_rest_around_them():
    spots = [(0.0, 0.0, 0.0), (1.0, 0.5, 2.0), (0.5, 1.0, 0.0)]
    parts = (
        asking("cube", brick(5, 5, 5), spots, k=(1.2, 1.2, 1.2), loose=2),
        asking("bar", brick(10, 2, 4), spots[:1]),
        green("angle", angle(30, 24, 20, 3), 3, TURNS),
    )
    layout = nest.pack(parts, box((62, 62, 90), gap=1.0, wall=1.0, floor=3.0), Choices()).layouts[0]
    lows = [at(layout, piece).min(axis=0) for piece in layout.pieces]
    wanted = [(1, 1, 3), (55, 28, 5), (28, 55, 3), (8, 1, 3)]
    assert all(np.abs(np.array(lows) - place).max(axis=1).min() < 1e-9 for place in wanted)
    assert sorted(piece.part for piece in layout.pieces) == [0] * 5 + [1] + [2] * 3
    assert least_gap(layout, 5.0) >= 1.0 - 2e-5


def test_every_box_holds_the_coupons_and_counts_them_on():
    parts = (asking("coupon", brick(6, 6, 6), [(0.0, 0.0, 0.0)]), green("cube", brick(10, 10, 10), 6))
    layouts = nest.pack(parts, box((32, 22, 12), gap=1.0), Choices()).layouts
    numbers = [[piece.number for piece in layout.pieces if piece.part == 0] for layout in layouts]
    assert numbers == [[number + 1] for number in range(len(layouts))]
    assert len(layouts) > 1


def test_a_box_of_coupons_alone_is_nested():
    parts = (asking("coupon", brick(6, 6, 6), [(0.0, 0.0, 0.0), (1.0, 1.0, 0.0)]),)
    layout = nest.pack(parts, box((40, 30, 20), gap=2.0, wall=2.0, floor=1.0), Choices()).layouts[0]
    lows = [tuple(at(layout, piece).min(axis=0)) for piece in layout.pieces]
    np.testing.assert_allclose(lows, [(2, 2, 1), (32, 22, 1)], rtol=1e-12)


def test_held_pieces_that_clash_or_stick_out_are_refused():
    close = (asking("coupon", brick(10, 10, 10), [(0.0, 0.0, 0.0), (0.4, 0.0, 0.0)]),)
    with pytest.raises(StopError, match="apart, 2 mm are asked"):
        nest.pack(close, box((30, 30, 30), gap=2.0), Choices())
    high = (asking("coupon", brick(10, 10, 10), [(0.0, 0.0, 25.0)]),)
    with pytest.raises(StopError, match=r"reaches 10\.0 x 10\.0 x 35\.0 mm"):
        nest.pack(high, box((30, 30, 30), gap=2.0), Choices())


def test_nothing_lies_in_a_zone_kept_free():
    parts = (green("cube", brick(10, 10, 10), 9),)
    held = HeldPieces(zones=(Zone((20.0, 0.0), (31.0, 40.0)),))
    layout = packed(parts, box((50, 40, 90), gap=1.0), Choices(), held).layouts[0]
    x = [(at(layout, piece)[:, 0].min(), at(layout, piece)[:, 0].max()) for piece in layout.pieces]
    assert len(x) == 9
    assert all(high <= 20.0 + 1e-9 or low >= 31.0 - 1e-9 for low, high in x)


def test_a_box_full_of_zones_is_refused():
    held = HeldPieces(zones=(Zone((0.0, 0.0), (50.0, 40.0)),))
    with pytest.raises(StopError, match="'cube' finds no place"):
        packed((green("cube", brick(10, 10, 10), 1),), box((50, 40, 90), gap=1.0), Choices(), held)
