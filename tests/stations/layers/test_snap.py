"""Snapping: faces along the lattice are drawn where they lie."""

import dataclasses

import numpy as np
import trimesh

from sagger.goods.layout import Layout, Piece
from sagger.stations import layers
from sagger.stations.layers.snap import snapped


def layout_of(stack):
    old = stack.layout
    pieces = tuple(Piece(part=p.part, number=p.number, turn=0, placement=p.placement) for p in old.pieces)
    return Layout(
        number=1,
        box=old.box,
        greens=old.greens,
        pieces=pieces,
        gap_mm=2.0,
        least_gap_mm=2.0,
        wall_gap_mm=3.0,
        height_mm=old.height_mm,
        volume_mm3=1.0,
        density=0.1,
    )


def test_a_block_of_whole_drops_is_exact_once_snapped(bed):
    pitch = 25.4 / 400
    block = trimesh.creation.box(extents=(80 * pitch, 60 * pitch, 4.0))
    stack = bed.stack([(block, bed.placed(11.013, 12.027, 5.034))], jitter=False)
    layout = snapped(layout_of(stack), stack.pitch_mm, stack.layer_mm)
    after = dataclasses.replace(stack, layout=layout)
    tally = layers.count(after)
    assert set(tally.drops.tolist()) == {0, 80 * 60}
    np.testing.assert_allclose(np.count_nonzero(tally.drops) * stack.layer_mm, 4.0, rtol=1e-9)


def test_no_piece_moves_by_more_than_half_a_drop(bed):
    pieces = [(bed.torus(), bed.placed(12 + 0.37 * n, 15, 3.21, linear=bed.turned(17 * n))) for n in range(3)]
    stack = bed.stack(pieces)
    layout = snapped(layout_of(stack), stack.pitch_mm, stack.layer_mm)
    limits = np.array([*stack.pitch_mm, stack.layer_mm]) / 2 + 1e-9
    for old, new in zip(stack.layout.pieces, layout.pieces, strict=True):
        assert (np.abs(new.placement[:3, 3] - old.placement[:3, 3]) <= limits).all()
        np.testing.assert_array_equal(new.placement[:3, :3], old.placement[:3, :3])
    assert layout.least_gap_mm < 2.0
    assert layout.wall_gap_mm <= 3.0


def test_settled_copies_are_drawn_alike_and_at_most_half_a_layer_off(bed):
    height = 3.42  # no whole number of layers
    block = trimesh.creation.box(extents=(5, 4, height))
    stack = bed.stack(
        [(block, bed.placed(8 + 9 * n, 12, 4 + height / 2 + 0.0131 * n)) for n in range(4)], jitter=False
    )
    layout = snapped(layout_of(stack), (0.0, 0.0), stack.layer_mm)
    tally = layers.count(dataclasses.replace(stack, layout=layout))
    each = layers.count(stack)
    layer_count = np.count_nonzero(tally.drops)
    assert abs(layer_count * stack.layer_mm - height) <= stack.layer_mm / 2 + 1e-9
    assert len(set(tally.drops.tolist()) - {0}) == 1
    assert len(set(each.drops.tolist()) - {0}) > 1
    moves = [
        new.placement[:2, 3] - old.placement[:2, 3]
        for old, new in zip(stack.layout.pieces, layout.pieces, strict=True)
    ]
    np.testing.assert_array_equal(moves, 0)
