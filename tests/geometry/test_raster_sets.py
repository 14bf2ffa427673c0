"""Erosion, offsets, cover and masks, each against another library or a formula."""

import numpy as np
import pytest
import shapely
import shapely.affinity
from scipy import ndimage

from sagger.geometry import raster
from sagger.geometry.raster import algebra, cover, halftone
from sagger.geometry.raster.cells import cells_of
from sagger.geometry.raster.drawing import DropLattice, cut_and_place
from sagger.geometry.raster.fine import SPLIT, cells_of_runs, finer
from sagger.geometry.raster.offset import offset


def blobs(rows, columns, seed):
    rng = np.random.default_rng(seed)
    return ndimage.gaussian_filter(rng.random((rows, columns)), 6) > 0.5


@pytest.mark.parametrize("pitch", [(0.02, 0.02), (0.02, 0.05), (0.06, 0.02)])
@pytest.mark.parametrize("radius", [0.0, 0.05, 0.13])
def test_erosion_is_a_threshold_of_the_exact_distance(pitch, radius):
    image = np.pad(blobs(140, 160, 3), 12)
    distance = ndimage.distance_transform_edt(image, sampling=(pitch[1], pitch[0]))
    kept = raster.image(algebra.eroded(raster.from_image(image), radius, pitch))
    np.testing.assert_array_equal(kept, distance > radius + 1e-9)
    assert kept.sum() > 300


@pytest.mark.parametrize(
    ("verb", "same"),
    [
        (algebra.both, np.logical_and),
        (algebra.either, np.logical_or),
        (algebra.without, lambda a, b: a & ~b),
    ],
)
def test_sets_are_those_of_the_images(verb, same):
    rng = np.random.default_rng(5)
    for share in (0.05, 0.5, 0.95):
        a, b = rng.random((2, 30, 90)) < share
        result = verb(raster.from_image(a), raster.from_image(b))
        np.testing.assert_array_equal(raster.image(result), same(a, b))


@pytest.mark.parametrize("reach", [0, 1, 2, 5])
@pytest.mark.parametrize("count", [11, 12, 25])
def test_held_through_is_the_and_of_the_neighbours(reach, count):
    images = np.random.default_rng(6).random((count, 4, 40)) < 0.9
    held = algebra.held_through([raster.from_image(image) for image in images], reach)
    assert len(held) == count - 2 * reach
    for k, drops in enumerate(held):
        np.testing.assert_array_equal(raster.image(drops), images[k : k + 2 * reach + 1].all(axis=0))


def section_of(polygon, pitch):
    """Section of a prism over a polygon [mm], cut half way up."""
    quads = []
    for ring in (polygon.exterior, *polygon.interiors):
        at = np.asarray(ring.coords)
        low, high = np.c_[at, np.zeros(len(at))], np.c_[at, np.full(len(at), 2.0)]
        quads += [(low[i], low[i + 1], high[i + 1], high[i]) for i in range(len(at) - 1)]
    corners = np.array(quads).reshape(-1, 3)
    first = 4 * np.arange(len(quads))[:, None]
    faces = np.concatenate([first + np.array(corner) for corner in ([0, 1, 2], [0, 2, 3])])
    scene = raster.scene([(corners, faces)], [(0, np.eye(4))], pitch, 0.05)
    return cut_and_place(scene, 1_000_000, (0.0, 0.0), raster.Scratch())


def flower(seed=2):
    angle = np.linspace(0, 2 * np.pi, 240, endpoint=False)
    rng = np.random.default_rng(seed)
    radius = 4 + 0.8 * np.cos(7 * angle) + 0.05 * rng.random(240)
    outline = shapely.Polygon(np.c_[radius * np.cos(angle), radius * np.sin(angle)])
    hole = shapely.affinity.rotate(shapely.box(-1.0, -0.6, 1.2, 0.7), 17)  # faces along the lattice jump
    whole = outline.difference(hole)
    return shapely.orient_polygons(shapely.transform(whole, lambda xy: xy + np.array([6.03, 6.07])))


@pytest.mark.parametrize("dpi", [(1200, 1200), (1200, 400)])
@pytest.mark.parametrize("distance_mm", [0.02, -0.02, 0.3, -0.3])
def test_offsets_agree_with_a_polygon_library(distance_mm, dpi):
    polygon, pitch = flower(), (25.4 / dpi[0], 25.4 / dpi[1])
    columns, rows = round(12.2 / pitch[0]), round(12.2 / pitch[1])
    section = section_of(polygon, pitch)
    drops = offset(section, distance_mm, DropLattice(columns, rows, pitch), raster.Scratch())
    expected = polygon.buffer(distance_mm, quad_segs=64)
    bias_um = 1e3 * (raster.count(drops) * pitch[0] * pitch[1] - expected.area) / expected.length
    assert abs(bias_um) < 0.6  # the working notes' limit, from the polygon library's own arcs and the lattice


def test_growing_the_hole_is_shrinking_the_plate():
    hole, pitch = flower(), (25.4 / 600, 25.4 / 600)
    plate = shapely.orient_polygons(shapely.box(0.5, 0.5, 11.7, 11.7).difference(hole.buffer(0)))
    grown = offset(section_of(hole, pitch), 0.1, DropLattice(290, 290, pitch), raster.Scratch())
    shrunk = offset(section_of_many(plate, pitch), -0.1, DropLattice(290, 290, pitch), raster.Scratch())
    window = np.s_[30:260, 30:260]
    np.testing.assert_array_equal(raster.image(grown)[window], ~raster.image(shrunk)[window])


def section_of_many(polygons, pitch):
    parts = [section_of(part, pitch) for part in getattr(polygons, "geoms", [polygons])]
    segments = np.vstack([part.segments[: part.used] for part in parts])
    return parts[0]._replace(segments=segments, used=len(segments))


@pytest.mark.parametrize("dpi", [(600, 600), (600, 300)])
def test_cover_sums_to_the_exact_area(dpi):
    polygon, pitch = flower(), (25.4 / dpi[0], 25.4 / dpi[1])
    columns, rows = round(12.2 / pitch[0]), round(12.2 / pitch[1])
    lattice = DropLattice(columns, rows, pitch)
    share = cover.covered(section_of(polygon, pitch), lattice, raster.Scratch())
    np.testing.assert_allclose(share.sum() * pitch[0] * pitch[1], polygon.area, rtol=1e-6)
    drops = raster.image(offset(section_of(polygon, pitch), 0.0, lattice, raster.Scratch()))
    perimeter = polygon.length / min(pitch)
    assert np.abs(share - drops).sum() <= 0.26 * perimeter  # a half of a half drop along the outline


def test_cover_agrees_with_fine_sampling():
    polygon, pitch = flower(), (25.4 / 300, 25.4 / 300)
    share = cover.covered(section_of(polygon, pitch), DropLattice(140, 140, pitch), raster.Scratch())
    fine = tuple(spacing / 16 for spacing in pitch)
    dense = raster.image(
        offset(section_of(polygon, fine), 0.0, DropLattice(2240, 2240, fine), raster.Scratch())
    )
    sampled = dense.reshape(140, 16, 140, 16).mean(axis=(1, 3))
    np.testing.assert_allclose(share, sampled, atol=0.07)


@pytest.mark.parametrize("bits", [1, 2, 4])
def test_grey_levels_hold_the_area(bits):
    polygon, pitch = flower(), (25.4 / 600, 25.4 / 600)
    section = section_of(polygon, pitch)
    lattice, blank = DropLattice(290, 290, pitch), raster.blank(290, 290)
    packed = cover.levels(
        cells_of(section, lattice, raster.Scratch()),
        blank,
        cover.Tone(bits, 1.0, 1.0, 0),
        lattice,
        raster.Scratch(),
    )
    wide = np.unpackbits(packed, axis=1).reshape(290, -1, bits)
    levels = (wide @ (1 << np.arange(bits - 1, -1, -1)))[:, :290]
    area = levels.sum() / (2**bits - 1) * pitch[0] * pitch[1]
    np.testing.assert_allclose(area, polygon.area, rtol=2e-3)
    if bits > 1:
        assert 0 < np.count_nonzero((levels > 0) & (levels < 2**bits - 1)) < 4 * polygon.length / pitch[0]


def test_a_grey_core_holds_its_saturation():
    pitch = (25.4 / 600, 25.4 / 600)
    lattice = DropLattice(290, 290, pitch)
    section = section_of(shapely.box(1.0, 1.0, 11.0, 11.0), pitch)
    image = np.zeros((290, 290), bool)
    image[60:220, 50:230] = True
    tone = cover.Tone(2, 1.0, 0.5, 3)
    packed = cover.levels(
        cells_of(section, lattice, raster.Scratch()),
        raster.from_image(image),
        tone,
        lattice,
        raster.Scratch(),
    )
    levels = (np.unpackbits(packed, axis=1).reshape(290, -1, 2) @ np.array([2, 1]))[:, :290]
    np.testing.assert_allclose(levels[image].mean() / 3, 0.5, rtol=2e-3)
    assert set(np.unique(levels[image])) == {1, 2}
    assert (levels[30:55, 30:255] == 3).all()


@pytest.mark.parametrize("share", [0.25, 0.6, 0.933])
def test_masks_hold_their_saturation(share):
    bits = np.unpackbits(halftone.masks(share, halftone.SIDE // 8), axis=1)
    np.testing.assert_allclose(bits.mean(), share, rtol=5e-4)


def test_masks_have_no_low_frequencies():
    # Blue noise: power below a tenth of the highest frequency is a small share of white noise's.
    bits = np.unpackbits(halftone.masks(0.5, halftone.SIDE // 8), axis=1) - 0.5
    power = np.abs(np.fft.fft2(bits)) ** 2 / bits.size
    frequency = np.hypot(*np.meshgrid(np.fft.fftfreq(64), np.fft.fftfreq(64)))
    low = power[(frequency > 0) & (frequency < 0.05)].mean()
    assert low < 0.1 * 0.25


def test_regions_are_filled_to_their_own_saturation():
    whole = np.zeros((256, 512), bool)
    whole[:, 3:509] = True
    core = np.zeros_like(whole)
    core[:, 100:420] = True
    fields = [(raster.from_image(whole & ~core), 1.0), (raster.from_image(core), 0.6)]
    bits = np.unpackbits(halftone.filled(fields, 7), axis=1).astype(bool)
    np.testing.assert_array_equal(bits & ~core, whole & ~core)
    np.testing.assert_allclose(bits[core].mean(), 0.6, rtol=1e-3)
    other = np.unpackbits(halftone.filled(fields, 8), axis=1).astype(bool)
    assert (bits != other)[core].mean() > 0.2


def test_the_tile_ranks_every_place_once():
    np.testing.assert_array_equal(np.sort(halftone.tile(), axis=None), np.arange(halftone.SIDE**2))


def test_an_image_in_use_is_not_drawn_over():
    scratch = raster.Scratch()
    first = scratch.image(4, 8)
    first[:] = 7
    part = first[1:3]
    second = scratch.image(4, 8)
    assert not np.shares_memory(first, second)
    del first
    assert not np.shares_memory(part, scratch.image(4, 8))  # a part of it is still looked at
    assert (part == 7).all()
    address = part.ctypes.data - 8
    del part
    third, fourth = scratch.image(4, 8), scratch.image(4, 8)
    assert address in (third.ctypes.data, fourth.ctypes.data)
    assert not third.any()
    assert not fourth.any()


def test_rows_too_long_for_short_keys_come_out_alike():
    pitch, tone, x = (25.4 / 600, 25.4 / 600), cover.Tone(2, 1.0, 1.0, 0), np.linspace(1, 11, 1401)
    comb = np.r_[np.c_[x, np.where(np.arange(1401) % 2, 4.0, 0.9)], [[11, 0.2], [1, 0.2]]]
    section = section_of(shapely.orient_polygons(shapely.Polygon(comb)), pitch)
    short, long = (
        cover.levels(
            cells_of(section, DropLattice(columns, 90, pitch), raster.Scratch()),
            raster.blank(columns, 90),
            tone,
            DropLattice(columns, 90, pitch),
            raster.Scratch(),
        )
        for columns in (300, 2**20)  # more than a thousand cells in a row, a million columns
    )
    np.testing.assert_array_equal(long[:, :75], short)
    assert short[40].any()


@pytest.mark.parametrize("layer", [0, 1, 7, 40])
@pytest.mark.parametrize("share", [0.25, 0.6])
def test_masked_drops_are_counted_without_drawing_them(share, layer):
    drops = raster.from_image(blobs(90, 333, layer))
    bits = np.unpackbits(halftone.filled([(drops, share)], layer), axis=1, count=333)
    assert halftone.held(drops, share, layer) == bits.sum() > 1000


def grey(polygon, pitch, bits, bleed_mm):
    lattice, split, scratch = DropLattice(290, 290, pitch), SPLIT[bits], raster.Scratch()
    fine = finer(section_of(polygon, pitch), -bleed_mm, lattice, split, scratch)
    cells = cells_of_runs(fine, lattice, split, scratch)
    packed = cover.levels(cells, raster.blank(290, 290), cover.Tone(bits, 1.0, 1.0, 0), lattice, scratch)
    wide = np.unpackbits(packed, axis=1).reshape(290, -1, bits)
    return (wide @ (1 << np.arange(bits - 1, -1, -1)))[:, :290]


@pytest.mark.parametrize("bits", [2, 4])
@pytest.mark.parametrize("dpi", [(600, 600), (600, 400)])
def test_grey_levels_of_a_shrunk_section_hold_its_area(bits, dpi):
    # Against the offsets of a general polygon library.
    polygon, pitch, bleed_mm = flower(), (25.4 / dpi[0], 25.4 / dpi[1]), 0.013  # a third of a drop
    area = grey(polygon, pitch, bits, bleed_mm).sum() / (2**bits - 1) * pitch[0] * pitch[1]
    wanted = polygon.buffer(-bleed_mm, quad_segs=64).area
    np.testing.assert_allclose(area, wanted, rtol=2e-3)
    assert abs(polygon.area - wanted) > 10 * abs(area - wanted)


def test_grey_levels_on_the_finer_lattice_are_those_of_exact_cover():
    polygon, pitch = flower(), (25.4 / 600, 25.4 / 600)
    lattice, scratch = DropLattice(290, 290, pitch), raster.Scratch()
    cells = cells_of(section_of(polygon, pitch), lattice, scratch)
    packed = cover.levels(cells, raster.blank(290, 290), cover.Tone(2, 1.0, 1.0, 0), lattice, scratch)
    exact = (np.unpackbits(packed, axis=1).reshape(290, -1, 2) @ np.array([2, 1]))[:, :290]
    sampled = grey(polygon, pitch, 2, 0.0)
    assert np.abs(exact - sampled).max() <= 1
    assert (exact != sampled).sum() < 0.1 * np.count_nonzero((exact > 0) & (exact < 3))
