"""What may be asked of a nest beyond its gap, on bricks whose answer is known."""

import dataclasses
import runpy
from pathlib import Path

import manifold3d
import numpy as np
import pytest
import trimesh

from sagger.errors import StopError
from sagger.geometry.pile.space.areas import section_areas
from sagger.goods.order import Choices, Nesting, Spot
from sagger.stations import nest
from sagger.tick import Tick

pytestmark = pytest.mark.slow

HAND = runpy.run_path(str(Path(__file__).parents[1] / "nest_shapes.py"))
FIXED, TURNS, box, brick, green, least_gap = (
    HAND[name] for name in ("FIXED", "TURNS", "box", "brick", "green", "least_gap")
)


def asked(**wishes):
    return Choices(nesting=Nesting(**wishes))


def with_request(part, **said):
    request = dataclasses.replace(part.part.request, **said)
    return dataclasses.replace(part, part=dataclasses.replace(part.part, request=request))


def corners(layout):
    at = [
        layout.greens[p.part].shape.vertices @ p.placement[:3, :3].T + p.placement[:3, 3]
        for p in layout.pieces
    ]
    return np.array([(each.min(axis=0), each.max(axis=0)) for each in at])


@pytest.mark.parametrize("gap_z", [0.5, 2.0, 6.0])
def test_the_gap_along_z_is_its_own(gap_z):
    parts = (green("brick", brick(10, 20, 5), 12),)
    layout = nest.pack(parts, box((22, 42, 90), gap=2.0), asked(gap_z_mm=gap_z)).layouts[0]
    np.testing.assert_allclose(layout.height_mm, 3 * 5 + 2 * gap_z, atol=4e-3)  # micrometres, stretched
    feet = np.unique(np.round(corners(layout)[:, 0, 2], 3))
    np.testing.assert_allclose(np.diff(feet), 5 + gap_z, atol=2e-3)


def test_first_and_last_layers_stay_empty():
    parts = (green("cube", brick(10, 10, 10), 8),)
    wish = asked(empty_below_mm=7.0, empty_above_mm=9.0)
    first, second = nest.pack(parts, box((22, 22, 28), gap=2.0, floor=1.0), wish).layouts
    assert len(first.pieces) == len(second.pieces) == 4
    np.testing.assert_allclose(corners(first)[:, 0, 2], 8.0, rtol=1e-9)
    with pytest.raises(StopError, match="fit"):
        nest.pack(parts, box((22, 22, 27), gap=2.0, floor=1.0), wish)


def test_rectangles_of_the_bed_stay_free():
    parts = (green("cube", brick(10, 10, 10), 6),)
    layout = nest.pack(parts, box((36, 24, 60), gap=2.0), asked(keep_out=((0.0, 0.0, 12.0, 24.0),))).layouts[
        0
    ]
    assert corners(layout)[:, 0, 0].min() >= 12.0 - 1e-9
    with pytest.raises(StopError, match="lower first"):
        nest.pack(parts, box((36, 24, 60), gap=2.0), asked(keep_out=((5.0, 5.0, 5.0, 9.0),)))


def test_no_layer_is_printed_beyond_what_was_asked():
    parts = (green("plate", brick(20, 20, 2), 8),)
    tight = nest.pack(parts, box((44, 22, 200), gap=2.0), asked()).layouts[0]
    np.testing.assert_allclose(tight.printed_most, 800 / (44 * 22), rtol=1e-6)
    post = (green("post", brick(8, 8, 20), 4), green("base", brick(20, 20, 2), 1))
    loose = nest.pack(post, box((24, 24, 200), gap=2.0), asked(printed_most=0.71)).layouts[0]
    assert loose.printed_most <= 0.71
    with pytest.raises(StopError, match="a layer is printed over 6"):
        nest.pack(post, box((24, 24, 200), gap=2.0), asked(printed_most=0.4))


def test_boxes_get_equal_shares():
    parts = (green("cube", brick(10, 10, 10), 9), green("slab", brick(10, 22, 10), 3))
    layouts = nest.pack(parts, box((34, 22, 22), gap=2.0), asked(even=True)).layouts
    counts = np.array([[sum(p.part == kind for p in each.pieces) for kind in (0, 1)] for each in layouts])
    assert len(layouts) == 2
    assert (np.ptp(counts, axis=0) <= 1).all()
    assert counts.sum(axis=0).tolist() == [9, 3]
    numbers = sorted(p.number for each in layouts for p in each.pieces if p.part == 0)
    assert numbers == list(range(1, 10))


def test_sets_stay_together():
    parts = tuple(green(name, brick(10, 10, 10), 3) for name in ("a", "b", "c"))
    parts = (parts[0], with_request(parts[1], together="pump"), with_request(parts[2], together="pump"))
    layouts = nest.pack(parts, box((34, 22, 10), gap=2.0), Choices()).layouts
    for layout in layouts:
        kinds = [piece.part for piece in layout.pieces]
        assert kinds.count(1) in (0, 3)
        assert kinds.count(2) == kinds.count(1)
    assert sum(len(each.pieces) for each in layouts) == 9


def test_a_set_too_big_for_one_box_is_refused():
    parts = (with_request(green("a", brick(10, 10, 10), 5), together="pump"), green("b", brick(9, 9, 9), 2))
    with pytest.raises(StopError, match="stay together as 'pump'"):
        nest.pack(parts, box((22, 22, 10), gap=2.0), Choices())


def test_sets_stay_apart():
    parts = tuple(
        with_request(green(name, brick(10, 10, 10), 2), apart=apart)
        for name, apart in (("a", "one"), ("b", "two"), ("c", ""))
    )
    layouts = nest.pack(parts, box((34, 22, 10), gap=2.0), Choices()).layouts
    assert [{p.part for p in each.pieces} for each in layouts] == [{0, 2}, {1}]


def test_orientations_may_be_chosen_by_their_steps():
    wedge = trimesh.Trimesh(brick(30, 10, 10).vertices.copy(), brick(30, 10, 10).faces.copy(), process=False)
    wedge.vertices[:, 2] *= np.where(wedge.vertices[:, 0] > wedge.vertices[:, 0].mean(), 1.0, 0.4)
    layout = nest.pack(
        (green("wedge", wedge, 4, TURNS),), box((70, 70, 70), gap=2.0), asked(prefer="surface")
    )
    (layout,) = layout.layouts
    tried = {round(pose.steps, 3) for pose in layout.poses}
    assert tried == {0.0} or max(tried) < 0.35  # lying on its flat side the slope is upright
    assert [each.what for each in layout.findings] == ["orientations by surface"]


def test_a_person_may_say_enough():
    parts = (green("cup", trimesh.creation.cone(8, 20, sections=24), 14),)
    heard = []

    def report(doing, done, total):
        if "pressing" in doing:
            heard.append(done)

    usual = nest.pack(
        parts,
        box((40, 40, 120), gap=1.0),
        asked(improve=500),
        tick=Tick(report, lambda: False, lambda: len(heard) > 3),
    )
    assert len(usual.layouts[0].pieces) == 14
    assert max(heard) < 40


def test_more_rounds_are_never_worse_and_the_bound_holds():
    parts = (green("cone", trimesh.creation.cone(8, 20, sections=24), 14, TURNS),)
    few, many = (
        nest.pack(parts, box((40, 40, 120), gap=1.0), asked(improve=rounds)).layouts[0] for rounds in (0, 6)
    )
    assert many.height_mm <= few.height_mm + 1e-9
    assert 0.3 * few.height_mm < few.bound_mm <= many.height_mm


def test_the_bound_is_met_by_a_full_box():
    layout = nest.pack((green("cube", brick(10, 10, 10), 4),), box((22, 22, 30), gap=2.0), Choices()).layouts[
        0
    ]
    np.testing.assert_allclose(layout.bound_mm, layout.height_mm, rtol=1e-9)
    np.testing.assert_allclose(layout.filling, 400 / 484, rtol=1e-9)


def test_areas_of_sections_are_those_of_a_solid_library():
    torus = trimesh.creation.torus(10, 3)
    solid = manifold3d.Manifold(manifold3d.Mesh64(torus.vertices.copy(), torus.faces.astype(np.uint64)))
    heights = np.linspace(-3.2, 3.2, 33)  # among them 0, where vertices lie
    found = section_areas(torus.vertices, torus.faces, heights)
    np.testing.assert_allclose(found, [solid.slice(z).area() for z in heights], rtol=1e-6, atol=1e-9)


def test_held_pieces_keep_their_place_with_a_gap_of_its_own_along_z():
    cube = with_request(green("coupon", brick(6, 6, 6), 1), held=(Spot(x=0.5, y=0.5, z_mm=5.0),))
    parts = (cube, green("brick", brick(10, 10, 5), 8))
    layout = nest.pack(parts, box((34, 34, 60), gap=2.0, floor=1.0), asked(gap_z_mm=1.0)).layouts[0]
    at = corners(layout)[[piece.part == 0 for piece in layout.pieces]][0]
    np.testing.assert_allclose(at[0], [14.0, 14.0, 6.0], atol=1e-6)


def cup_part():
    """A cup, open above as filed."""
    return trimesh.creation.box((16, 16, 12)).difference(
        trimesh.creation.box((12, 12, 12)).apply_translation([0, 0, 2])
    )


def test_orientations_may_be_chosen_by_the_powder_they_carry():
    (layout,) = nest.pack(
        (green("cup", cup_part(), 3, TURNS),), box((60, 60, 70), gap=2.0), asked(prefer="powder")
    ).layouts
    assert all(pose.carried < 0.01 for pose in layout.poses)  # no mouth looks up
    (note,) = layout.findings
    assert note.what == "orientations by powder" and note.value >= note.limit
    assert "instead of" in note.text


def test_orientations_may_be_chosen_by_sag_and_the_price_is_told():
    part = green("block", brick(8, 12, 30), 2, TURNS)
    tall = TURNS[:, 2, 2] != 0
    sag = np.where(tall, 0.01, 0.5)
    sagging = dataclasses.replace(part, part=dataclasses.replace(part.part, sag_mm=sag))
    (layout,) = nest.pack((sagging,), box((60, 60, 70), gap=2.0), asked(prefer="sag")).layouts
    assert {pose.sag_mm for pose in layout.poses} == {0.01}
    np.testing.assert_allclose(layout.height_mm, 30.0)
    (note,) = layout.findings
    np.testing.assert_allclose([note.value, note.limit], [30.0, 8.0])
    assert "sag 0.01 instead of 0.5 mm" in note.text


def test_a_wish_for_sag_is_refused_where_nothing_is_known_of_it():
    with pytest.raises(StopError, match="sintered"):
        nest.pack(
            (green("block", brick(8, 12, 30), 2, TURNS),), box((60, 60, 70), gap=2.0), asked(prefer="sag")
        )
