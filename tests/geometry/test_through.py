"""Columns of several stretches and the tables of pairs, where the answer is known."""

import manifold3d
import numpy as np
import pytest
import trimesh

from sagger.geometry.pile.through.crowd import Turns, crowd, top
from sagger.geometry.pile.through.removal import LookRule, Trial, remove
from sagger.geometry.pile.through.resting import rested
from sagger.geometry.pile.through.stretches import grown, stretches
from sagger.geometry.pile.through.tables import Lattice, pair_tables, shapes

EVERYWHERE = LookRule(whole=1.0, beside=0, above=0, shafts=0, shaft=0, turned=0)


def brick(size, at=(0, 0, 0)):
    return trimesh.creation.box(size).apply_translation(np.array(at) + np.array(size) / 2)


def corners(mesh):
    at = mesh.triangles
    return np.ascontiguousarray(at - at.min(axis=(0, 1)))


def clamp():
    """A C lying on its back: 10 high, 2 thick, open along +x."""
    parts = [brick((2, 6, 10)), brick((8, 6, 2)), brick((8, 6, 2), (0, 0, 8))]
    return trimesh.boolean.union(parts, engine="manifold")


def column(shape, x, y):
    first = shape.first[y * shape.nx + x : y * shape.nx + x + 2]
    return list(zip(shape.low[slice(*first)].tolist(), shape.high[slice(*first)].tolist(), strict=True))


def test_a_column_through_a_clamp_has_two_stretches():
    found = stretches(corners(clamp()), 1.0)
    assert (found.nx, found.ny) == (8, 6)
    np.testing.assert_allclose(column(found, 5, 3), [(0, 2), (8, 10)], rtol=0, atol=1e-9)
    np.testing.assert_allclose(column(found, 1, 3), [(0, 10)], rtol=0, atol=1e-9)


def test_what_grows_by_the_gap_grows_less_aside_and_closes_narrow_slots():
    found = grown(stretches(corners(brick((2, 2, 2))), 0.5), 0.5, 1.0, 2)
    assert column(found, 4, 4) == [(-1.0, 3.0)]
    rise = (1 - 0.5**2) ** 0.5  # columns whose nearest face lies half a gap away
    np.testing.assert_allclose(column(found, 0, 4), [(-rise, 2 + rise)], rtol=0, atol=1e-12)
    for gap, want in ((2.5, [(-2.5, 4.5), (5.5, 12.5)]), (3.0, [(-3.0, 13.0)])):
        wide = grown(stretches(corners(clamp()), 1.0), 1.0, gap, 3)
        np.testing.assert_allclose(column(wide, 8, 6), want, rtol=0, atol=1e-12)


def test_ways_out_of_two_cubes_are_those_of_their_boxes():
    known = shapes([corners(brick((4, 4, 4)))], Lattice(1.0, 1.0), 0.0)
    tables = pair_tables(known, (20.0, 20.0), lifted=False)
    out = tables.pool.reshape(tables.size[0, 0])
    off = np.abs(np.indices(out.shape) - tables.origin[0, 0][:, None, None, None])
    np.testing.assert_array_equal(out, np.clip(4 - off.max(axis=0), 0, None))


@pytest.mark.slow
@pytest.mark.parametrize("gap", [0.0, 0.7])
def test_what_is_free_by_the_table_is_free_by_volume_and_distance(gap):
    luck = np.random.default_rng(3)
    bodies = [clamp(), trimesh.creation.icosphere(subdivisions=2, radius=2.6), brick((3, 5, 2))]
    solids = [corners(one) for one in bodies]
    grid = Lattice(0.8, 0.3)
    tables = pair_tables(shapes(solids, grid, gap), (40.0, 40.0), lifted=False)
    made = [
        manifold3d.Manifold(
            manifold3d.Mesh64(one.vertices - one.vertices.min(axis=0), one.faces.astype(np.uint64))
        )
        for one in bodies
    ]
    for _ in range(150):
        a, b = luck.integers(3, size=2)
        place = luck.integers(tables.size[a, b])
        start, size = tables.start[a, b], tables.size[a, b]
        way = tables.pool[start + (place[0] * size[1] + place[1]) * size[2] + place[2]]
        off = (place - tables.origin[a, b])[[1, 0, 2]] * (grid.step, grid.step, grid.rise)
        moved = made[a].translate(off)
        if way == 0 and gap == 0:
            assert (moved ^ made[b]).volume() < 1e-9
        elif way == 0:
            assert moved.min_gap(made[b], 2.0) >= gap - 1e-7
        elif way > 3:
            assert moved.min_gap(made[b], 2.0) < gap + 3 * grid.step


def test_under_a_roof_is_free_unless_it_must_be_lifted():
    known = shapes([corners(clamp()), corners(brick((4, 4, 4)))], Lattice(1.0, 1.0), 0.0)
    for lifted in (False, True):
        tables = pair_tables(known, (20.0, 20.0), lifted=lifted)
        inside = crowd(tables, np.array([0, 1]), np.array([[0, 0, 0], [1, 3, 3]]))
        assert (inside.depth[0, 1] > 0) == lifted


def test_overlaps_are_taken_out_and_the_rest_comes_down():
    known = shapes([corners(clamp()), corners(brick((4, 4, 4.3)))], Lattice(1.0, 0.5), 0.0)
    tables = pair_tables(known, (8.0, 6.0), lifted=False)
    two = crowd(tables, np.array([0, 1]), np.array([[0, 0, 0], [0, 0, 9]]))
    may = Turns(np.array([0, 1]), np.array([0, 1, 2]), np.array([0, 1]), np.array([True, True]))
    found = remove(tables, two, may, EVERYWHERE, Trial(20, 50, 10**9, 1))
    assert found.least == 0
    assert top(tables, two) == 20  # in the clamp, nothing else is as low
    low = rested(known, two, may.free)
    np.testing.assert_allclose(low[1], 2.0, rtol=0, atol=1e-9)
