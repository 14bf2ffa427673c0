"""Lots of one kind, where the densest stacking is known by hand."""

import runpy
from pathlib import Path

import numpy as np
import pytest
import trimesh

from sagger.goods.order import Choices
from sagger.stations import nest
from sagger.stations.nest.fill import desk
from sagger.stations.nest.held import NOTHING_HELD
from sagger.stations.nest.in_rows import rows
from sagger.stations.nest.lots import in_order
from sagger.stations.nest.room import room
from sagger.stations.nest.search import BoxToFill, Effort, grown
from sagger.stations.nest.stacking import LayerStack, stacks
from sagger.tick import silent

pytestmark = pytest.mark.slow

HAND = runpy.run_path(str(Path(__file__).parents[1] / "nest_shapes.py"))
TURNS, angle, box, brick, green, least_gap = (
    HAND[name] for name in ("TURNS", "angle", "box", "brick", "green", "least_gap")
)
FLAT = TURNS[[n for n, turn in enumerate(TURNS) if abs(turn[2, 2]) == 1.0]]


def channel() -> trimesh.Trimesh:
    """A U: 30 wide, 24 high, 20 deep, walls of 4 mm."""
    legs = [brick(4, 20, 24).apply_translation((x, 0, 12)) for x in (2, 28)]
    return trimesh.boolean.union([*legs, brick(30, 20, 4).apply_translation((15, 0, 2))], engine="manifold")


def rake() -> trimesh.Trimesh:
    """A plate 46 by 30 by 2.5 mm with three ribs 2 mm thick along it, 8 mm high in all."""
    ribs = [brick(46, 2, 8).apply_translation((0, y, 4)) for y in (-11, 0, 11)]
    return trimesh.boolean.union(
        [brick(46, 30, 2.5).apply_translation((0, 0, 1.25)), *ribs], engine="manifold"
    )


def lowest(mesh: trimesh.Trimesh, count: int, turns: np.ndarray) -> LayerStack:
    space = room(box((290, 190, 390), gap=2.0), Choices())
    return stacks(green("part", mesh, count, turns), list(range(len(turns))), space, 1.0, count)[0]


def test_channels_on_their_sides_grip_into_each_other():
    """By hand: 9 and 8 in a strip 32 mm wide, each leg between two others; six strips on 190 mm."""
    stack = lowest(channel(), 300, TURNS)
    assert [len(layer) for layer in stack.layers] == [102]
    assert stack.top(300) == 3 * 20_000 + 2 * 2_000


def test_ribs_of_every_other_layer_lie_between_those_below():
    """By hand: 4 by 9 in a layer, the next 4 mm aside and 2.5 + 2 mm higher: (8 + 4.5) * 3 + 2 * 2 mm."""
    stack = lowest(rake(), 200, FLAT)
    assert [len(layer) for layer in stack.layers] == [36, 36]
    assert stack.top(200) == 41_500


@pytest.mark.parametrize("mesh", [channel(), rake(), angle(40, 32, 24, 4)], ids=["channel", "rake", "angle"])
def test_a_stacked_lot_keeps_gap_and_walls_and_can_be_lifted(mesh):
    layout = nest.pack(
        (green("part", mesh, 40, TURNS[::3]),), box((100, 80, 300), 2.0, 5.0, 5.0), Choices()
    ).layouts[0]
    assert len(layout.departures) == len(layout.pieces) == 40
    assert all(one.way == (0, 0, 1) for one in layout.departures)
    assert least_gap(layout, 2.5) >= 2.0 - 1e-6
    assert layout.wall_gap_mm >= 5.0 - 1e-6


def test_a_row_is_as_long_as_the_room():
    space = room(box((100, 80, 300), gap=2.0), Choices())
    along = {row.axis: row for row in rows(green("brick", brick(8, 18, 5), 50), [0], space, 1.0, 50)}
    assert (along[0].copies, along[0].spacing) == (10, 10)
    assert (along[1].copies, along[1].spacing) == (4, 20)


def test_a_stack_that_is_too_high_leaves_pieces_over():
    part, size = green("brick", brick(10, 10, 10), 30), box((22, 22, 34), gap=2.0)
    space = room(size, Choices())
    shared = desk((part,), [(0, 0)], space, 2.0)
    left = np.zeros(30, dtype=np.int64)
    found = grown(shared, left, np.random.default_rng(1), Effort(1, 1, 1))[0]
    filled = in_order(BoxToFill((part,), [(0, 0)], space, NOTHING_HELD), found, left, 1, tick=silent)
    assert len(filled.lies) == 12
    assert len(filled.rest) == 18
