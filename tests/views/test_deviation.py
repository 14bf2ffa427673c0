"""Maps of a part out of the furnace."""

import dataclasses
import json

import numpy as np
import pytest
import trimesh

from sagger.goods.sag import Deformed, Misfit, Sag
from sagger.goods.shape import Shape
from sagger.views.pictures import deviation

BALL = trimesh.creation.icosphere(subdivisions=3, radius=10.0)


def fired(off):
    """A ball that would come out off by `off` (n, 3), and comes out 0.02 mm too large pre-deformed."""
    nominal, outward = np.asarray(BALL.vertices), np.asarray(BALL.vertices) / 10
    out = Deformed(
        surface=Shape(vertices=nominal + 0.02 * outward, triangles=np.asarray(BALL.faces, np.int32)),
        nominal=nominal,
        density=np.linspace(0.95, 0.97, len(nominal)),
        tension=np.zeros(len(nominal)),
        misfit=Misfit(rms_mm=0.02, most_mm=0.02, fit_rms_mm=0.02),
        cells=1,
        pitch_mm=1.0,
        steps=1,
        iterations=1,
        findings=(),
    )
    return Sag(
        method="quick",
        before=Misfit(rms_mm=0.1, most_mm=0.1, fit_rms_mm=0.1),
        after=Misfit(rms_mm=0.02, most_mm=0.02, fit_rms_mm=0.02),
        rounds=1,
        cells=1,
        finished=out,
        findings=(),
        untreated_mm=off,
    )


@pytest.fixture
def swollen():
    """All points 0.1 mm outside."""
    return fired(0.1 * np.asarray(BALL.vertices) / 10)


def test_what_stands_out_is_above_zero_and_both_share_a_scale(swollen):
    first = deviation.maps(swollen)[0]
    before, after = first.views
    np.testing.assert_allclose(before.values, 0.1, rtol=0.01)  # facets stand askew by so much
    np.testing.assert_allclose(after.values, 0.02, rtol=0.01)
    np.testing.assert_allclose(first.ends, (-0.1, 0.1), rtol=0.01)


def test_what_slides_along_the_surface_is_no_deviation():
    """A turned ball is the same ball."""
    turned = np.cross([0.0, 0.0, 0.01], np.asarray(BALL.vertices))
    assert np.abs(deviation.maps(fired(turned))[0].views[0].values).max() < 0.12 * 0.1


def test_numbers_come_in_the_order_in_which_they_are_told(swollen):
    document = json.loads(json.dumps(deviation.document(swollen)))
    raw, n = deviation.numbers(swollen), len(BALL.vertices)
    m = len(BALL.faces)
    fields = np.frombuffer(raw[8 + 12 * n + 12 * m :], "<f4").reshape(-1, 3 * n + 3 * m)
    views = [view for each in document["maps"] for view in each["views"]]
    assert len(fields) == len(views) == 4
    np.testing.assert_allclose(fields[0][3 * n :], 0.1, rtol=0.01)
    np.testing.assert_allclose(
        fields[2][3 * n :], 100 * swollen.finished.density[BALL.faces].ravel(), rtol=1e-6
    )


def test_where_bending_did_not_help_only_what_is_printed_is_shown(swollen):
    (only,) = deviation.maps(dataclasses.replace(swollen, after=None))
    assert [view.title for view in only.views] == ["printed at even oversize"]


def test_a_part_that_was_not_followed_has_no_maps(swollen):
    assert deviation.document(dataclasses.replace(swollen, finished=None, untreated_mm=None)) is None
