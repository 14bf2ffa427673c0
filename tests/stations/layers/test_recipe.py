"""What order and head ask for stands in the stack, which is the whole recipe."""

import numpy as np
import pytest
import trimesh

from sagger.geometry import raster
from sagger.goods.good import digest
from sagger.stations import layers


def cube(size=5.0):
    return trimesh.creation.box(extents=(size, size, size))


def test_a_part_says_more_than_the_choices(bed):
    parts = [(cube(), bed.placed(10, 10, 2.5)), (cube(), bed.placed(30, 10, 2.5))]
    given = [{}, {"bleed_um": 0.0, "depth_um": 200.0, "skin_mm": 2.0, "core_saturation": 0.4}]
    stack = bed.stack(parts, requests=given, bleed_um=30.0, skin_mm=1.0, core_saturation=0.6)
    first, second = stack.style.treatments
    assert (first.bleed_mm, first.depth_mm, first.skin_mm, first.core) == (0.03, 0.0, 1.0, 0.6)
    assert (second.bleed_mm, second.depth_mm, second.skin_mm, second.core) == (0.0, 0.2, 2.0, 0.4)


def test_a_core_like_its_skin_is_none(bed):
    stack = bed.stack(
        [(cube(), bed.placed(10, 10, 2.5))], skin_mm=1.0, skin_saturation=0.8, core_saturation=0.8
    )
    (treatment,) = stack.style.treatments
    assert (treatment.skin_mm, treatment.skin) == (None, 0.8)


@pytest.mark.parametrize(
    "given",
    [
        {"bleed_um": 20.0},
        {"depth_um": 100.0},
        {"skin_mm": 1.0, "core_saturation": 0.5},
        {"bridge_mm": 1.0},
        {"open_share": 0.5},
        {"head": {"bits": 2}},
        {"head": {"dead_nozzles": (7,)}},
    ],
)
def test_whatever_changes_the_drops_changes_the_digest(bed, given):
    piece = (cube(), bed.placed(10, 10, 2.5))
    plain, other = (bed.stack([piece], **words).style for words in ({}, given))
    stack = bed.stack([piece], **given)
    assert digest((other, stack.missed)) != digest((plain, ()))


def test_how_much_mending_is_allowed_comes_from_the_order(bed):
    patience = bed.stack([(cube(), bed.placed(10, 10, 2.5))], bridge_mm=2.0).style.patience
    assert (patience.bridge_mm, patience.open_share) == (2.0, 0.01)


@pytest.mark.parametrize(("cover_mm", "count"), [(0.0, 50), (2.0, 70), (40.0, 300)])
def test_the_cover_of_powder_is_layers_too_up_to_the_top_of_the_box(bed, cover_mm, count):
    stack = bed.stack([(cube(), bed.placed(10, 10, 2.5))], cover_mm=cover_mm)  # to 5 mm, in a box of 30 mm
    assert stack.count == count
    assert raster.count(layers.sheet(layers.press(stack), count - 1).runs) == (0 if cover_mm else 79 * 79)


def test_rows_of_dead_nozzles_are_noted_unless_another_turn_serves_them(bed):
    piece = [(cube(), bed.placed(10, 10, 2.5))]
    assert bed.stack(piece, head={"dead_nozzles": (5,)}).missed == (5, 133, 261, 389)
    twice = {"dead_nozzles": (5,), "redundancy": bed.fig(2)}
    assert bed.stack(piece, head=twice).missed == ()


def test_depth_that_is_no_whole_layer_is_told(bed):
    stack = bed.stack([(cube(), bed.placed(10, 10, 2.5))], depth_um=130.0)
    (found,) = layers.noticed(stack, layers.count(stack), bed.head())
    assert (found.what, found.level) == ("soaking depth rounded", "look")
    np.testing.assert_allclose((found.value, found.limit), (100, 130), rtol=1e-9)
