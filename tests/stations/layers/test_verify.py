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
    return [
        data for _, _, data in layers.each(stack, lambda k, s: tiff.encode(s.runs, pitch_mm=stack.pitch_mm))
    ]


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
    image = raster.image(tiff.drops_of(tiff.decode(files[40])))
    image = np.roll(image, 4, axis=1)
    image[400:410, 600:604] = True  # far from the piece
    files[40] = tiff.encode(raster.from_image(image), pitch_mm=stack.pitch_mm)
    verdict = verify(layers.claim(stack), reading(files))
    assert verdict.strays == 40
    assert verdict.pieces[0].worst_layer == 40
    np.testing.assert_allclose(verdict.pieces[0].deviation_mm, 4 * stack.pitch_mm[0], rtol=0.3)
