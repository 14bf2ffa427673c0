"""What hangs above a setter, and how a shape stands."""

import numpy as np

import furnace_goods as hand
from sagger.geometry.surface import mesh
from sagger.geometry.wall.footing import footing
from sagger.geometry.wall.overhangs import HELD_ONCE, HELD_TWICE, overhangs
from sagger.geometry.wall.storeys import storeys


def boxes(*rows):
    """Boxes of (low corner, size), overlapping or not."""
    made = []
    for low, size in rows:
        block = hand.block(*size)
        made.append(mesh.shape(block.vertices + np.array(low, float), block.triangles))
    return mesh.merged(made)


BRIDGE = boxes(((0, 0, 0), (5, 10, 20)), ((55, 0, 0), (5, 10, 20)), ((0, 0, 17), (60, 10, 3)))
SHELF = boxes(((0, 0, 0), (5, 10, 20)), ((0, 0, 17), (25, 10, 3)))


def turned(body, degrees):
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    return mesh.mapped(body, np.array([[c, -s, 0], [s, c, 0], [0, 0, 1.0]]))


def test_stretches_hold_the_volume_and_overlaps_count_once():
    above = storeys(BRIDGE)
    volume = float((above.top - above.bottom).sum()) * above.pitch_mm**2
    np.testing.assert_allclose(volume, 2 * 5 * 10 * 20 + 50 * 10 * 3, rtol=0.03)
    assert above.bottom.min() == 0 and round(above.top.max(), 9) == 20


def test_deck_of_a_bridge_is_held_at_both_ends():
    found = overhangs(storeys(BRIDGE))
    assert np.all(found.held[:, 0] == HELD_TWICE) and np.all(found.round == 0)
    np.testing.assert_allclose(found.length[:, 0], 50, atol=2 / 3)
    np.testing.assert_allclose(found.height[:, 0], 3, rtol=1e-6)


def test_shelf_is_held_at_one_end_and_measured_from_it():
    found = overhangs(storeys(SHELF))
    assert np.all(found.held[:, 0] == HELD_ONCE) and np.all(found.held[:, 1] == 0)
    np.testing.assert_allclose(found.length[:, 0], 20, atol=0.3)
    tip = np.argmax(found.share[:, 0])
    assert found.share[tip, 0] > 0.98 and found.stretch[tip] == 179  # the last of the first row


def test_stepped_shelf_has_the_height_of_the_even_bar_that_sags_as_much():
    """Root half 6 mm, outer half 3 mm high, 20 mm: tip by double integration against its stand-in."""
    shelf = boxes(((0, 0, 0), (5, 10, 20)), ((0, 0, 14), (15, 10, 6)), ((0, 0, 14), (25, 10, 3)))
    found = overhangs(storeys(shelf))
    x = (np.arange(2000) + 0.5) / 2000
    tall = np.where(x < 0.5, 6.0, 3.0)
    load = np.cumsum(tall[::-1])[::-1] / 2000
    moment = np.cumsum(load[::-1])[::-1] / 2000
    tip = np.sum(12 * moment / tall**3 * (1 - x)) / 2000  # of q = height, EI = height^3 / 12, L = 1
    even = (12 / 8 / tip) ** 0.5  # q L^4 / (8 E I) of an even bar
    np.testing.assert_allclose(np.median(found.height[:, 0]), even, rtol=0.1)


def test_slanting_and_mirrored_parts_hang_alike():
    lengths = []
    for body in (SHELF, mesh.mapped(SHELF, np.diag([-1.0, 1, 1])), turned(SHELF, 90), turned(SHELF, 45)):
        found = overhangs(storeys(body))
        best = np.where(found.held == HELD_ONCE, found.length, np.inf).min(axis=1)
        lengths.append(best[np.isfinite(best)].max())
    np.testing.assert_allclose(lengths[:3], lengths[0], rtol=0.03)
    np.testing.assert_allclose(
        lengths[3], lengths[0], rtol=0.35
    )  # the corner lies farther along the diagonal


def test_second_arm_hangs_from_the_first():
    arm = boxes(((0, 0, 0), (5, 6, 20)), ((0, 0, 17), (25, 6, 3)), ((20, 0, 17), (5, 30, 3)))
    found = overhangs(storeys(arm))
    assert set(found.round) >= {0, 1}
    later = found.round == 1
    assert np.all(found.round[found.ends[later, 1].max(axis=1)] == 0)


def test_plate_on_four_legs_is_held_from_edge_to_edge():
    legs = [((x, y, 0), (4, 4, 10)) for x in (0, 36) for y in (0, 36)]
    found = overhangs(storeys(boxes(*legs, ((0, 0, 8), (40, 40, 2)))))
    assert np.all(found.round >= 0) and np.all((found.held == HELD_TWICE).any(axis=1))


def test_block_stands_and_knows_how_far_it_is_from_tipping():
    foot = footing(hand.block(20.0, 10.0, 30.0))
    np.testing.assert_allclose(foot.centre, [10, 5, 15], rtol=1e-12)
    np.testing.assert_allclose([foot.hold, foot.breadth], [5, 10], rtol=1e-9)


def test_top_heavy_part_tips_and_a_ridge_is_a_line():
    heavy = boxes(((0, 0, 0), (5, 10, 10)), ((5, 0, 5), (60, 10, 5)))
    assert footing(heavy).hold < -10
    ridge = mesh.mapped(
        hand.block(10.0, 40.0, 10.0), np.array([[1, 0, 1], [0, 1.414, 0], [-1, 0, 1]]) / 1.414
    )
    assert footing(ridge).breadth < 1e-6 and footing(ridge).hold < 0.01
