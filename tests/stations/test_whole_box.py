"""Boxes of tens of pieces pressed by moves over the whole box, where the answer is known."""

import dataclasses
import runpy
from pathlib import Path

import numpy as np
import pytest
import trimesh

from sagger.goods.good import digest
from sagger.goods.order import Choices, Nesting, Spot
from sagger.stations import nest
from sagger.stations.nest.held import NOTHING_HELD
from sagger.stations.nest.pressing import race, whole_box
from sagger.stations.nest.pressing.lattice import snug
from sagger.stations.nest.room import room
from sagger.tick import Tick

pytestmark = pytest.mark.slow

HAND = runpy.run_path(str(Path(__file__).parents[1] / "nest_shapes.py"))
TURNS, angle, box, brick, green, least_gap = (
    HAND[name] for name in ("TURNS", "angle", "box", "brick", "green", "least_gap")
)


def clamp():
    """A C lying on its back: 12 high, 2 thick, open along +x."""
    places = (((2, 10, 12), (1, 5, 6)), ((10, 10, 2), (5, 5, 1)), ((10, 10, 2), (5, 5, 11)))
    parts = [brick(*size).apply_translation(at) for size, at in places]
    return trimesh.boolean.union(parts, engine="manifold")


def tongues():
    """Clamps, and blocks that fit between their plates; a bed that has room for one clamp and no more."""
    return (green("clamp", clamp(), 2), green("block", brick(7, 9, 6), 2))


def packed(lift, **asked):
    choices = Choices(seed=3, nesting=Nesting(lift=lift, **asked))
    return nest.pack(tongues(), box((10, 10, 60), gap=0.5), choices).layouts[0]


def test_blocks_go_into_clamps_where_they_may_leave_sideways():
    """By hand: two clamps and a gap; straight up each piece lies on the others, all four and three gaps."""
    aside, up = packed("sideways"), packed("up")
    np.testing.assert_allclose(aside.height_mm, 12 + 0.5 + 12, rtol=0, atol=1e-3)
    np.testing.assert_allclose(up.height_mm, 12 + 12 + 6 + 6 + 3 * 0.5, rtol=0, atol=1e-3)
    assert least_gap(aside, 2.0) >= 0.5 - 1e-6
    assert {departure.way[2] for departure in aside.departures} <= {0, 1}
    assert any(departure.way[2] == 0 for departure in aside.departures)
    assert {departure.way for departure in up.departures} == {(0, 0, 1)}


def test_the_layout_says_by_which_search_it_was_pressed():
    layout = packed("sideways")
    note = next(note for note in layout.findings if note.what == "nest search")
    assert note.level == "ok"
    np.testing.assert_allclose(note.value, layout.height_mm, rtol=0, atol=1e-9)
    assert note.value < note.limit


def test_along_z_another_gap_holds_and_ways_out_are_those_of_the_real_box():
    layout = packed("any", gap_z_mm=1.0)
    np.testing.assert_allclose(layout.height_mm, 12 + 1.0 + 12, rtol=0, atol=1e-3)
    assert layout.gap_z_mm == 1.0


def test_the_same_seed_gives_the_same_bytes_on_one_thread_and_on_two(monkeypatch):
    digests = []
    for threads in (1, 2):
        monkeypatch.setattr(race, "_THREADS", threads)
        digests.append(digest(packed("any")))
    assert digests[0] == digests[1]


def test_what_is_held_stays_and_zones_are_left_to_the_other_search():
    part = green("angle", angle(18, 14, 9, 3), 6, TURNS)
    request = dataclasses.replace(part.part.request, quantity=7, held=(Spot(x=0.37, y=0.21, z_mm=0.0),))
    held = dataclasses.replace(part, part=dataclasses.replace(part.part, request=request))
    card = box((41.3, 33.7, 60), gap=0.7, wall=0.3)
    layout = nest.pack((held,), card, Choices(nesting=Nesting(lift="any"))).layouts[0]
    plain = nest.pack((held,), card, Choices(nesting=Nesting(keep_out=((0, 30, 3, 33),), improve=1))).layouts[
        0
    ]
    lows = [_low(layout, piece) for piece in layout.pieces]
    want = np.array([0.3 + 0.37 * (40.7 - 18), 0.3 + 0.21 * (33.1 - 9), 0.0])
    assert min(np.abs(low - want).max() for low in lows) < 1e-6
    assert least_gap(layout, 2.0) >= 0.7 - 1e-6
    assert "nest search" not in {note.what for note in plain.findings}


def _low(layout, piece):
    shape = layout.greens[piece.part].shape
    return (shape.vertices @ piece.placement[:3, :3].T + piece.placement[:3, 3]).min(axis=0)


def test_the_height_is_told_and_enough_keeps_the_best():
    heard = []
    tick = Tick(lambda doing, done, total: heard.append(doing), lambda: False, lambda: len(heard) > 400)
    layout = nest.pack(
        tongues(), box((10, 10, 60), gap=0.5), Choices(nesting=Nesting(lift="any", improve=5)), tick=tick
    ).layouts[0]
    assert any("pressing" in doing and " mm" in doing for doing in heard)
    assert layout.height_mm <= 12 + 12 + 6 + 6 + 3 * 0.5 + 1e-3


def test_what_would_make_it_lower_is_told_in_millimetres():
    """By hand: 13 mm less where blocks may leave sideways."""
    note = next(note for note in packed("up", weigh=True).findings if note.what == "what buys height")
    assert 'lower with lift = "sideways"' in note.text
    assert "13.0 mm lower with lift" in note.text
    assert "with 0.375 mm between pieces instead of 0.5 mm" in note.text
    assert note.text.startswith("Emptiest from ")
    np.testing.assert_allclose([note.value, note.limit], [37.5, 24.5], rtol=0, atol=1e-3)


def test_some_hundreds_of_pieces_are_left_to_the_other_search():
    space = room(box((40, 40, 60), gap=0.5), Choices())
    asked = [1, 2, 150, 151]
    assert [whole_box.suits(count, space, NOTHING_HELD) for count in asked] == [False, True, True, False]


def test_a_lattice_takes_lengths_and_box_in_whole_steps():
    step = snug(np.array([9.0, 6.0]), np.array([1.0, 1.0]), (0.8, 1.3), np.array([30.0]))
    np.testing.assert_allclose(np.array([9.0, 6.0, 30.0]) / step % 1, 0, rtol=0, atol=1e-9)
    assert effort_is_spent()


def effort_is_spent():
    plan = race.effort(40, 1e10)
    spent = (
        plan.starts * plan.first + plan.kept * plan.second + sum(count * work for count, work in plan.finer)
    )
    return 0.99e10 < spent <= 1e10 + 100
