"""Export, read back, compare: what is right passes, what was spoilt is found."""

import numpy as np
import pytest
import trimesh

from sagger.files import tiff
from sagger.geometry import raster
from sagger.stations import layers
from sagger.stations.layers.verify import verify

pytestmark = pytest.mark.slow


def exported(stack):
    """Files of all layers, as bytes."""
    style = tiff.LayerForm(stack.pitch_mm)
    return [data for _, _, data in layers.drawn(stack, lambda _, sheet: tiff.encode_sheet(sheet, style))]


def reading(files):
    return [tiff.decode(data).levels for data in files]


def test_a_good_export_is_within_half_a_drop_and_half_a_layer(bed):
    body = bed.torus()
    tall = trimesh.creation.cylinder(radius=3, height=5.04, sections=64)
    stack = bed.stack([(body, bed.placed(13, 15, 3, linear=bed.turned(20))), (tall, bed.placed(30, 10, 3))])
    verdict = verify(layers.claim(stack), reading(exported(stack)))
    assert verdict.strays == 0
    for piece in verdict.pieces:
        np.testing.assert_allclose(
            piece.volume_mm3, piece.expected_mm3, rtol=0.02
        )  # half a layer of the height
        assert abs(piece.height_error_mm) <= stack.layer_mm / 2 + 1e-6
        assert abs(piece.edge_bias_mm) < 0.001
        assert piece.deviation_mm < np.hypot(*stack.pitch_mm)  # jitter moves the sampling by half a drop


def test_without_jitter_no_middle_is_on_the_wrong_side(bed):
    stack = bed.stack([(bed.torus(), bed.placed(13.013, 15.011, 3.02))], jitter=False)
    (piece,) = verify(layers.claim(stack), reading(exported(stack))).pieces
    assert piece.deviation_mm < 1e-6


def test_a_piece_inside_the_box_of_another_is_told_from_it(bed):
    ball = trimesh.creation.icosphere(subdivisions=3, radius=3)
    stack = bed.stack([(bed.torus(), bed.placed(13, 15, 3)), (ball, bed.placed(13.2, 15.1, 3))], jitter=False)
    verdict = verify(layers.claim(stack), reading(exported(stack)))
    for piece in verdict.pieces:
        np.testing.assert_allclose(piece.volume_mm3, piece.expected_mm3, rtol=2e-3)
        assert piece.deviation_mm < 1e-6


def test_what_was_spoilt_is_found(bed):
    stack = bed.stack([(bed.torus(), bed.placed(13, 15, 3))], jitter=False)
    files = exported(stack)
    image = tiff.decode(files[40]).levels > 0
    image = np.roll(image, 4, axis=1)
    image[400:410, 600:604] = True  # far from the piece
    files[40] = tiff.encode(raster.from_image(image), tiff.LayerForm(stack.pitch_mm))
    verdict = verify(layers.claim(stack), reading(files))
    assert verdict.strays == 40
    assert verdict.pieces[0].worst_layer == 40
    np.testing.assert_allclose(verdict.pieces[0].deviation_mm, 4 * stack.pitch_mm[0], rtol=0.3)


STYLES = {
    "bleed": {"bleed_um": 60.0},
    "outward": {"bleed_um": -150.0},
    "depth": {"depth_um": 300.0},
    "both": {"bleed_um": 60.0, "depth_um": 200.0},
    "core": {"skin_mm": 1.0, "core_saturation": 0.5},
    "lean skin": {"skin_saturation": 0.8, "core_saturation": 0.8},
    "grey": {"head": {"bits": 2}},
    "fine grey": {"head": {"bits": 4}, "skin_mm": 1.0, "core_saturation": 0.5},
    "grey, inside": {"head": {"bits": 2}, "bleed_um": 30.0, "depth_um": 200.0},
    "fine grey, outward": {"head": {"bits": 4}, "bleed_um": -40.0},
    "dead nozzles": {"head": {"dead_nozzles": (20, 21)}},
}


def styled(bed, given):
    ball = trimesh.creation.icosphere(subdivisions=4, radius=4)
    return bed.stack(
        [(bed.torus(), bed.placed(13.013, 15.011, 3.02)), (ball, bed.placed(31, 15, 4.5))], **given
    )


@pytest.mark.parametrize("given", STYLES.values(), ids=STYLES)
def test_every_style_keeps_the_limits(bed, given):
    stack = styled(bed, given)
    verdict = verify(layers.claim(stack), reading(exported(stack)))
    assert verdict.findings == ()
    for piece in verdict.pieces:
        assert piece.findings == ()
        assert abs(piece.edge_bias_mm) < 0.007  # of a drop of 0.0635; a lean skin hides drops left out


def test_compensated_volume_is_expected_by_another_path(bed):
    stack = styled(bed, {"bleed_um": 150.0})
    torus, ball = verify(layers.claim(stack), reading(exported(stack)), every_layer=True).pieces
    np.testing.assert_allclose(torus.volume_mm3, torus.expected_mm3, rtol=6e-3)
    np.testing.assert_allclose(ball.volume_mm3, ball.expected_mm3, rtol=6e-3)
    assert torus.expected_mm3 < 0.95 * 2 * np.pi**2 * 8 * 9


@pytest.mark.parametrize("made", ["bleed", "depth", "core", "outward"])
def test_what_was_not_asked_for_is_found(bed, made):
    asked, files = layers.claim(styled(bed, {})), exported(styled(bed, STYLES[made]))
    found = verify(asked, reading(files), every_layer=True)
    told = {each.what for piece in found.pieces for each in piece.findings}
    assert told, "the export differs from what is claimed"
    assert {each.level for piece in found.pieces for each in piece.findings} == {"stop"}


def test_a_layer_that_was_lost_is_found(bed):
    stack = styled(bed, {})
    images = reading(exported(stack))
    images[30] = np.zeros_like(images[30])
    found = verify(layers.claim(stack), images, every_layer=True)
    assert all("outline" in {each.what for each in piece.findings} for piece in found.pieces)
    assert [piece.worst_layer for piece in found.pieces] == [30, 30]
