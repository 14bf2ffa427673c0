"""Layers as TIFF, read back by two independent decoders and compared with libtiff's own bytes."""

import io

import numpy as np
import pytest
import tifffile
from PIL import Image

from sagger.errors import InputError
from sagger.files import tiff
from sagger.geometry import raster
from sagger.stations.layers import Sheet

PITCH = (25.4 / 1200, 25.4 / 400)
WIDTHS = [1, 2, 7, 8, 9, 31, 32, 33, 63, 64, 65, 70, 127, 128, 1728, 2559, 2560, 2561, 5121]


def as_shown(data):
    """What a viewer that honours the orientation tag shows, row 0 at the top."""
    return np.asarray(Image.open(io.BytesIO(data)))


def patterns(rows, columns, seed):
    rng = np.random.default_rng(seed)
    yield np.zeros((rows, columns), bool)
    yield np.ones((rows, columns), bool)
    yield rng.random((rows, columns)) < 0.5
    yield np.cumsum(rng.random((rows, columns)) < 0.02, axis=1) % 2 == 1
    yield np.repeat(rng.random((1, columns)) < 0.1, rows, axis=0)


@pytest.mark.slow
@pytest.mark.parametrize("compression", ["g4", "deflate", "packbits", "none"])
@pytest.mark.parametrize("columns", WIDTHS)
def test_two_readers_see_the_drops(columns, compression):
    for image in patterns(9, columns, columns):
        data = tiff.encode(raster.from_image(image), tiff.LayerForm(PITCH, compression=compression))
        np.testing.assert_array_equal(as_shown(data), ~image[::-1])  # seen from above, drop = black
        np.testing.assert_array_equal(
            tifffile.imread(io.BytesIO(data)).astype(bool), image
        )  # stored: drop = 1
        np.testing.assert_array_equal(tiff.decode(data).levels, image)


@pytest.mark.parametrize("columns", [1, 64, 700, 2561])
def test_g4_bytes_are_those_of_libtiff(columns):
    for image in patterns(40, columns, columns + 1):
        reference = io.BytesIO()
        # 278 = rows per strip: one strip, as ours
        Image.fromarray(~image).save(reference, "TIFF", compression="group4", tiffinfo={278: 40, 262: 0})
        ours = tiff.encode(raster.from_image(image), tiff.LayerForm(PITCH))
        assert strips(ours) == strips(reference.getvalue())


def strips(data):
    with tifffile.TiffFile(io.BytesIO(data)) as file:
        page = file.pages[0]
        return [data[at : at + size] for at, size in zip(page.dataoffsets, page.databytecounts, strict=True)]


def glyph():
    """An L that is not symmetric about any axis, drops True."""
    image = np.zeros((20, 30), bool)
    image[2:18, 4:7] = True
    image[2:5, 4:20] = True
    return image


@pytest.mark.parametrize(("polarity", "dark"), [("black is drop", True), ("white is drop", False)])
def test_polarity_is_what_a_viewer_shows(polarity, dark):
    data = tiff.encode(raster.from_image(glyph()), tiff.LayerForm(PITCH, polarity=polarity))
    upright = glyph()[::-1]
    np.testing.assert_array_equal(as_shown(data), ~upright if dark else upright)
    np.testing.assert_array_equal(tiff.decode(data).levels, glyph())
    assert tiff.decode(data).polarity == polarity


def test_resolution_and_place_are_told():
    image = Image.open(
        io.BytesIO(tiff.encode(raster.from_image(glyph()), tiff.LayerForm(PITCH, text="layer 7")))
    )
    assert image.info["dpi"] == (1200.0, 400.0)
    assert image.tag_v2[270] == "layer 7; rows from low y up, columns from low x"
    np.testing.assert_allclose(
        tiff.decode(tiff.encode(raster.from_image(glyph()), tiff.LayerForm(PITCH))).pitch_mm, PITCH
    )


@pytest.mark.parametrize("compression", ["g4", "deflate"])
@pytest.mark.parametrize("first_row", ["y low", "y high"])
def test_a_viewer_shows_the_layer_from_above_whichever_row_is_first(first_row, compression):
    data = tiff.encode(
        raster.from_image(glyph()), tiff.LayerForm(PITCH, compression=compression, first_row=first_row)
    )
    stored = tifffile.imread(io.BytesIO(data)).astype(bool)  # this reader does not turn what it reads
    np.testing.assert_array_equal(stored, glyph() if first_row == "y low" else glyph()[::-1])
    np.testing.assert_array_equal(as_shown(data), ~glyph()[::-1])
    np.testing.assert_array_equal(tiff.decode(data).levels, glyph())


@pytest.mark.parametrize("first_row", ["y low", "y high"])
def test_grey_levels_may_begin_at_either_side(first_row):
    levels = np.arange(24, dtype=np.uint8).reshape(4, 6) % 4
    data = tiff.encode_levels(packed(levels, 2), 6, 2, tiff.LayerForm(PITCH, first_row=first_row))
    np.testing.assert_array_equal(
        tifffile.imread(io.BytesIO(data)), levels if first_row == "y low" else levels[::-1]
    )
    np.testing.assert_array_equal(tiff.decode(data).levels, levels)


def test_masked_drops_can_be_coded_as_runs_if_asked():
    image = np.random.default_rng(8).random((6, 21)) < 0.5
    bits = np.packbits(image, axis=1)
    masked = Sheet(
        runs=raster.from_image(np.ones((6, 21), bool)),
        fields=(),
        bits=1,
        packed=bits,
        drops=int(image.sum()),
        section_mm2=1.0,
        leaks=0,
        bridges=0,
        longest_mm=0.0,
        digest="",
    )
    for compression, code in (("g4", 4), ("", 8)):
        data = tiff.encode_sheet(masked, tiff.LayerForm(PITCH, compression=compression))
        assert tifffile.TiffFile(io.BytesIO(data)).pages[0].compression == code
        np.testing.assert_array_equal(tiff.decode(data).levels, image)


def test_long_layers_are_cut_into_strips():
    image = np.cumsum(np.random.default_rng(5).random((2500, 90)) < 0.05, axis=1) % 2 == 1
    data = tiff.encode(raster.from_image(image), tiff.LayerForm(PITCH))
    assert len(strips(data)) == 3
    np.testing.assert_array_equal(tifffile.imread(io.BytesIO(data)).astype(bool), image)
    assert data == tiff.encode(raster.from_image(image), tiff.LayerForm(PITCH))


@pytest.mark.parametrize("bits", [2, 4])
@pytest.mark.parametrize("compression", ["deflate", "packbits", "none"])
@pytest.mark.parametrize("columns", [1, 3, 40, 41])
def test_grey_levels_are_read_back(bits, compression, columns):
    levels = np.random.default_rng(6).integers(0, 2**bits, (11, columns), np.uint8)
    data = tiff.encode_levels(
        packed(levels, bits), columns, bits, tiff.LayerForm(PITCH, compression=compression)
    )
    np.testing.assert_array_equal(tifffile.imread(io.BytesIO(data)), levels)
    np.testing.assert_array_equal(tiff.decode(data).levels, levels)


def packed(levels, bits):
    each = 8 // bits
    wide = np.zeros((len(levels), -(-levels.shape[1] // each) * each), np.uint8)
    wide[:, : levels.shape[1]] = levels
    shifts = np.arange(8 - bits, -1, -bits).astype(np.uint8)
    return np.bitwise_or.reduce(wide.reshape(len(levels), -1, each) << shifts, axis=2).astype(np.uint8)


def test_what_is_not_a_layer_is_refused():
    with pytest.raises(InputError, match="not a layer as TIFF"):
        tiff.decode(b"II*\0 and then nothing")


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ({"compression": "zip"}, "compression is not known"),
        ({"polarity": "black"}, "polarity is not known"),
        ({"first_row": "top"}, "first row is not known"),
        ({"text": "é"}, "must be ASCII"),
    ],
)
def test_unknown_choices_are_refused(given, says):
    with pytest.raises(InputError, match=says):
        tiff.encode(raster.from_image(glyph()), tiff.LayerForm(PITCH, **given))
