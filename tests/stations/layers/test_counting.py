"""Drops by size and by class, and rows without a nozzle, counted against the images themselves."""

import numpy as np
import pytest
import trimesh

from sagger.geometry.raster.sizes import sizes
from sagger.stations import layers
from sagger.stations.layers.nozzles import mended


def bed_of(bed, **given):
    body = trimesh.creation.cylinder(radius=6, height=4, sections=96)
    return bed.stack([(body, bed.placed(15.01, 15.02, 2))], **given)


def levels_of(sheet):
    bits = np.unpackbits(sheet.packed, axis=1, count=sheet.runs.columns * sheet.bits)
    return bits.reshape(len(bits), -1, sheet.bits) @ (1 << np.arange(sheet.bits)[::-1])


@pytest.mark.parametrize("bits", [1, 2, 4])
def test_drops_of_each_size_are_those_of_the_image(bits):
    rng = np.random.default_rng(bits)
    packed = rng.integers(0, 256, (17, 13), np.uint8)
    packed[rng.random(packed.shape) < 0.7] = 0
    values = np.unpackbits(packed, axis=1).reshape(17, -1, bits) @ (1 << np.arange(bits)[::-1])
    expected = np.bincount(values.ravel(), minlength=2**bits)[1:]
    assert sizes(packed, bits) == tuple(expected)


@pytest.mark.parametrize("bits", [1, 2])
def test_the_tally_counts_what_is_in_the_images(bed, bits):
    stack = bed_of(bed, skin_mm=1.0, core_saturation=0.5, head={"bits": bits})
    press, tally = layers.press(stack), layers.count(stack)
    image = levels_of(layers.sheet(press, 20))
    np.testing.assert_array_equal(tally.levels[20], np.bincount(image.ravel(), minlength=2**bits)[1:])
    assert tally.drops[20] == np.count_nonzero(image)


def test_classes_add_up_to_the_places_and_drops(bed):
    stack = bed_of(bed, skin_mm=1.0, core_saturation=0.5)
    plain, tally = layers.count(bed_of(bed)), layers.count(stack)
    skin, core = tally.classes
    assert (skin.share, core.share) == (1.0, 0.5)
    assert skin.places + core.places == plain.drops.sum()
    assert skin.drops + core.drops == tally.drops.sum()
    assert skin.drops == skin.places
    np.testing.assert_allclose(core.drops / core.places, 0.5, rtol=5e-3)


def test_grey_classes_have_places_but_no_drops(bed):
    skin, core = layers.count(bed_of(bed, skin_mm=1.0, core_saturation=0.5, head={"bits": 2})).classes
    assert skin.places > 0 and core.places > 0
    assert skin.drops is None and core.drops is None


@pytest.mark.slow
@pytest.mark.parametrize("given", [{}, {"skin_mm": 1.0, "core_saturation": 0.4}])
def test_what_dead_nozzles_lose_is_counted(bed, given):
    whole = layers.count(bed_of(bed, **given))
    stack = bed_of(bed, head={"dead_nozzles": (100,)}, **given)
    tally = layers.count(stack)
    assert tally.lost == whole.drops.sum() - tally.drops.sum() > 0
    image = levels_of(layers.sheet(layers.press(stack), 20)) if given else None
    assert image is None or not image[list(stack.missed)].any()


def test_a_halftoned_core_makes_most_of_a_dead_row_good(bed):
    solid, half = (
        layers.count(bed_of(bed, head={"dead_nozzles": (100,)}, **given)).lost
        for given in ({}, {"skin_mm": 0.0, "core_saturation": 0.3})
    )
    assert half < 0.1 * solid


def test_grey_rows_take_as_much_as_their_levels_have_room_for(bed):
    stack = bed_of(bed, skin_mm=0.0, core_saturation=0.5, head={"bits": 2})
    sheet = layers.sheet(layers.press(stack), 20)
    row = 236  # through the middle
    after, lost = mended(sheet, (row,))
    before, then = levels_of(sheet).astype(int), levels_of(after).astype(int)
    assert not then[row].any() and before[row].sum() > 100
    assert then.max() == 3
    np.testing.assert_allclose(before.sum() - then.sum(), 3 * lost, atol=1.5, rtol=0)
    assert lost < 0.25 * before[row].sum() / 3
    np.testing.assert_array_equal(
        np.delete(then, [row - 1, row, row + 1], 0), np.delete(before, [row - 1, row, row + 1], 0)
    )


def test_dead_nozzles_are_told_with_what_is_missing(bed):
    stack = bed_of(bed, head={"dead_nozzles": (100,)})
    tally = layers.count(stack)
    (found,) = layers.noticed(stack, tally, bed.head(dead_nozzles=(100,)))
    assert found.what == "dead nozzles"
    np.testing.assert_allclose(found.value, 100 * tally.lost / (tally.lost + tally.drops.sum()), rtol=1e-12)


def test_levels_that_grow_unevenly_are_told(bed):
    stack = bed_of(bed, head={"bits": 2})
    tally = layers.count(stack)
    even, uneven = (tuple(bed.fig(v * 1e-12) for v in row) for row in ((10, 20, 30), (10, 24, 30)))
    assert layers.noticed(stack, tally, bed.head(levels=even)) == ()
    (found,) = layers.noticed(stack, tally, bed.head(levels=uneven))
    np.testing.assert_allclose((found.value, found.limit), (80, 200 / 3), rtol=1e-9)


@pytest.mark.parametrize("bits", [1, 2])
@pytest.mark.parametrize("redundancy", [1, 2])
def test_pass_images_put_together_are_the_layer(bed, bits, redundancy):
    facts = {"bits": bits, "redundancy": bed.fig(redundancy)}
    stack = bed_of(bed, skin_mm=1.0, core_saturation=0.5, head=facts)
    sheet = layers.sheet(layers.press(stack), 20)
    planned = layers.passes(stack, bed.head(redundancy=bed.fig(redundancy)))
    alive = layers.served(planned, frozenset(), stack.rows)
    seen = np.zeros((stack.rows, stack.columns), int)
    for one in planned:
        image = levels_of(layers.pass_sheet(sheet, one, alive))
        rows = one.first + np.arange(one.nozzles) * one.step
        there = (rows >= 0) & (rows < stack.rows)
        seen[rows[there]] += image[there]
        assert not image[~there].any()
    np.testing.assert_array_equal(seen, levels_of(sheet))


@pytest.mark.parametrize(
    "given", [{}, {"skin_mm": 1.0, "core_saturation": 0.5}, {"head": {"bits": 2}}, {"head": {"bits": 4}}]
)
def test_rows_counted_are_the_first_and_last_with_drops(bed, given):
    stack = bed_of(bed, **given)
    press, tally = layers.press(stack), layers.count(stack)
    for k in (0, 20, stack.count - 1):
        sheet = layers.sheet(press, k)
        if sheet.packed is None:
            rows = np.flatnonzero(np.diff(sheet.runs.start))
        else:
            rows = np.flatnonzero(levels_of(sheet).any(axis=1))
        found = [rows[0], rows[-1]] if rows.size else [-1, -1]
        assert np.abs(tally.rows[k] - found).max() <= (
            sheet.packed is not None
        )  # a halftone may leave an edge row
