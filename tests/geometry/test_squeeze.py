"""Overlaps are taken out, heights come down, and rings are seen."""

import numpy as np
import trimesh

from sagger.geometry.pile.lowering.columns import columns
from sagger.geometry.pile.lowering.letdown import Poses, no_liking
from sagger.geometry.pile.lowering.settling import Pile, settle, tables
from sagger.geometry.pile.lowering.squeeze import Allowed, Descent, overlap, squeeze, total


def bricks(*sizes: tuple[int, int, int], room: tuple[int, int]):
    """Tables of bricks over columns of 1 mm without gap, free to move in a room of that many columns."""
    fields = []
    for size in sizes:
        tri = np.asarray(trimesh.creation.box(extents=size).triangles, float)
        fields.append(columns(np.ascontiguousarray(tri - tri.min(axis=(0, 1))), 1.0, 0.0))
    high = np.array([1000 * size[2] for size in sizes])
    places = np.array([[room[0] - size[1] + 1, room[1] - size[0] + 1] for size in sizes])
    masks = [np.ones((2, 2, 2), dtype=bool) for _ in sizes]
    return tables(Poses(fields, high, places, masks, no_liking(len(sizes))), np.arange(len(sizes)))


def pile(*rows: tuple[int, int, int, int]) -> Pile:
    pose, y, x, z = np.array(rows, dtype=np.int64).T.copy()
    return Pile(pose, y, x, z, np.ones((len(rows), len(rows))))


def anywhere(count: int, poses: int = 1) -> Allowed:
    zeros = np.zeros(count, dtype=np.int64)
    return Allowed(zeros, np.array([0, poses]), np.arange(poses), np.ones(count, dtype=bool))


def test_overlap_is_the_shorter_way_out_and_none_beside():
    known = bricks((4, 4, 3), room=(20, 20))
    assert overlap(known, pile((0, 0, 0, 0), (0, 2, 2, 2000)), 0, 1) == 1000
    assert overlap(known, pile((0, 0, 0, 2500), (0, 2, 2, 0)), 0, 1) == 500
    assert overlap(known, pile((0, 0, 0, 0), (0, 0, 4, 0)), 0, 1) == 0


def test_a_stack_settles_to_the_sum_of_its_heights():
    known, z, order = bricks((4, 4, 3), room=(8, 8)), np.zeros(3, np.int64), np.zeros(3, np.int64)
    stack = pile((0, 0, 0, 9000), (0, 1, 1, 5000), (0, 2, 2, 100))
    assert settle(known, stack, np.ones(3, dtype=bool), z, order) == 9000
    assert z.tolist() == [6000, 3000, 0]
    assert order.tolist() == [2, 1, 0]


def test_nothing_settles_through_a_fixed_shape():
    known, z, order = bricks((4, 4, 3), room=(8, 8)), np.zeros(2, np.int64), np.zeros(2, np.int64)
    free = np.array([False, True])
    assert settle(known, pile((0, 0, 0, 5000), (0, 1, 1, 9000)), free, z, order) == 11000
    assert settle(known, pile((0, 0, 0, 2000), (0, 1, 1, 0)), free, z, order) == -1


def test_a_tower_of_four_becomes_one_layer():
    known = bricks((4, 4, 3), room=(8, 8))
    tower = [(0, 0, 0, 3000 * k) for k in range(4)]
    best, now, own = pile(*tower), pile(*tower), np.zeros(4, np.int64)
    top = 12_000
    for seed in range(40):
        top = squeeze(known, now, best, top, anywhere(4), Descent(0.3, 30, 20, seed))
    assert top == 3000
    assert total(known, best, own) == 0


def test_shapes_turn_to_get_lower():
    known = bricks((2, 2, 8), (8, 2, 2), room=(8, 8))
    best, now = pile((0, 0, 0, 0), (0, 4, 4, 0)), pile((0, 0, 0, 0), (0, 4, 4, 0))
    top = squeeze(known, now, best, 8000, anywhere(2, poses=2), Descent(0.5, 30, 40, 1))
    top = squeeze(known, now, best, top, anywhere(2, poses=2), Descent(0.5, 30, 40, 2))
    assert top == 2000
    assert best.pose.tolist() == [1, 1]


def test_same_seed_same_moves():
    known = bricks((4, 4, 3), (3, 5, 2), room=(9, 9))
    rows = [(k % 2, k % 3, k % 4, 3000 * k) for k in range(8)]
    ends = []
    for _ in range(2):
        best, now = pile(*rows), pile(*rows)
        squeeze(known, now, best, 24_000, anywhere(8, poses=2), Descent(0.1, 10, 30, 5))
        ends.append((best.pose.tolist(), best.y.tolist(), best.x.tolist(), best.z.tolist()))
    assert ends[0] == ends[1]
