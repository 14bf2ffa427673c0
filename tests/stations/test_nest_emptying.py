"""How boxes are emptied: what can leave which way, where the answer is known."""

import dataclasses
import runpy
from pathlib import Path

import numpy as np
import pytest
import trimesh

from sagger.errors import StopError
from sagger.goods.layout import Piece
from sagger.stations.nest import emptying

HAND = runpy.run_path(str(Path(__file__).parents[1] / "nest_shapes.py"))
brick, green = HAND["brick"], HAND["green"]
RING = trimesh.creation.torus(major_radius=8.0, minor_radius=2.0, major_sections=24, minor_sections=12)


def piece(part, number, at):
    placement = np.eye(4)
    placement[:3, 3] = at
    return Piece(part=part, number=number, turn=0, placement=placement)


def bracket():
    """A C lying on its back: open along +x, roofed above."""
    parts = [brick(2, 10, 12), brick(10, 10, 2), brick(10, 10, 2)]
    places = [(0, 0, 0), (4, 0, -5), (4, 0, 5)]
    solids = [one.apply_translation(at) for one, at in zip(parts, places, strict=True)]
    return trimesh.boolean.union(solids, engine="manifold")


PARTS = (green("bracket", bracket(), 1), green("cube", brick(4, 4, 4), 1))
INSIDE = (piece(1, 1, (4.0, 0, 0)), piece(0, 1, (0.0, 0, 0)))


def test_directions_grow_with_the_rule_and_begin_with_straight_up():
    up, sideways, free = (emptying.directions(lift) for lift in ("up", "sideways", "any"))
    assert up == ((0, 0, 1),)
    assert len(sideways) == 17
    assert all(z >= 0 for *_, z in sideways)
    assert len(free) == 26
    assert set(up) < set(sideways) < set(free)
    assert sideways[0] == free[0] == (0, 0, 1)


def test_a_cube_in_a_bracket_waits_until_the_bracket_is_gone():
    """The bracket has the cube under its upper plate; the cube leaves along +x or +-y alone."""
    with pytest.raises(StopError, match=r"2 pieces cannot leave .*'up'"):
        emptying.in_order(PARTS, INSIDE, "up")
    _, departures = emptying.in_order(PARTS, INSIDE, "sideways")
    assert [each.part for each in departures] in ([1, 0], [0, 1])
    assert departures[0].way[2] == 0
    assert departures[1].way == (0, 0, 1)  # what is left alone leaves straight up
    said = emptying.told(2, departures)
    assert [each.what for each in said] == ["emptied sideways"]


def test_in_reverse_every_piece_passes_those_before_it():
    pieces, departures = emptying.in_order(PARTS, INSIDE, "any")
    assert [(each.part, each.number) for each in departures] == [
        (one.part, one.number) for one in pieces[::-1]
    ]
    assert len(pieces) == 2


def test_linked_rings_are_never_accepted_and_told_where_no_rule_is_asked():
    upright = RING.copy().apply_transform(trimesh.transformations.rotation_matrix(np.pi / 2, (1, 0, 0)))
    parts = (green("lying", RING, 1), green("standing", upright, 1), green("cube", brick(4, 4, 4), 1))
    pieces = (piece(0, 1, (0.0, 0, 0)), piece(1, 1, (8.0, 0, 0)), piece(2, 1, (40.0, 0, 0)))
    with pytest.raises(StopError, match="2 pieces cannot leave"):
        emptying.in_order(parts, pieces, "any")
    kept, departures = emptying.in_order(parts, pieces, "none")
    assert [each.part for each in departures] == [2]
    assert {one.part for one in kept[:2]} == {0, 1}
    found = emptying.told(3, departures)[0]
    assert found.level == "stop"
    assert "2 of 3" in found.text


def test_what_was_laid_last_leaves_first_where_it_can():
    parts = (green("slab", brick(10, 10, 2), 4),)
    laid = tuple(piece(0, n + 1, (0.0, 0.0, 3.0 * n)) for n in range(4))
    pieces, departures = emptying.in_order(parts, laid, "up")
    assert [one.number for one in pieces] == [1, 2, 3, 4]
    assert [each.number for each in departures] == [4, 3, 2, 1]


def test_a_factor_in_the_placement_counts():
    """A piece at its own oversize is looked at as it is printed."""
    lid = dataclasses.replace(INSIDE[1], placement=np.diag([1.0, 1.0, 0.2, 1.0]))
    _, departures = emptying.in_order(PARTS, (piece(1, 1, (4.0, 0, 10.0)), lid), "up")
    assert len(departures) == 2
