"""Blend design: share and gain against what is known, and cautions where they belong."""

import runpy
from pathlib import Path

import numpy as np
import pytest

import furnace_goods as hand
from sagger.errors import InputError
from sagger.goods.lot import Lot, SizeCurve
from sagger.goods.order import Choices
from sagger.physics.powder import packing, spread_bed
from sagger.stations import bed

POWDER = runpy.run_path(str(Path(__file__).with_name("by_hand.py")))["powder"]()
THIN = np.array([0.98, 1.0, 1.02])


def cut(size_um, name="base", **measured):
    """A lot of nearly one size."""
    curve = SizeCurve(size=size_um * 1e-6 * THIN, finer=np.array([0.0, 0.5, 1.0]), method="sieve")
    return Lot(name=name, powder="metal", origin="received", curve=curve, **measured)


def blended(*cuts, **choices):
    base = cut(30, green_density=hand.fig(0.58, 0.01))
    return bed.blend(POWDER, base, cuts, Choices(**choices))


@pytest.mark.slow
def test_the_best_share_of_fines_is_that_of_print():
    """Two sizes far apart: Furnas 1931, porosity 0.42: fines 0.42 / 1.42 = 29.6 %, packing 1 - 0.42^2."""
    (mixed,) = blended(cut(0.003, "dust")).mixed
    np.testing.assert_allclose(mixed.share, 0.42 / 1.42, atol=0.01, rtol=0)
    np.testing.assert_allclose(mixed.packing, 1 - 0.42**2, rtol=0.01)


@pytest.mark.slow
def test_share_and_gain_are_those_of_the_law_at_six_to_one():
    """Science page, section 1.9: 30 + 5 um, porosity 0.42 and 0.50: 27 % fines pack to 0.7074."""
    (mixed,) = blended(cut(5, "fine", green_density=hand.fig(0.50, 0.01))).mixed
    assert 0.24 <= mixed.share <= 0.30
    np.testing.assert_allclose(packing.linear([30, 5], [0.73, 0.27], [0.58, 0.50]), 0.7074, atol=5e-5, rtol=0)
    assert 0.7074 < mixed.packing < 0.73  # the best share lies a little beyond 27 %
    np.testing.assert_allclose((1 + mixed.length) ** 3, 1 + mixed.gain, rtol=1e-12)
    assert {name for name, _ in mixed.gains} == set(spread_bed.MODELS) and mixed.gain_u > 0.02


@pytest.mark.slow
def test_a_cut_of_the_same_size_gains_nothing():
    (mixed,) = blended(cut(30, "same")).mixed
    assert abs(mixed.gain) < 1e-3


@pytest.mark.slow
def test_the_best_cut_comes_first_and_too_coarse_a_one_stops():
    mixed = blended(cut(12, "near"), cut(5, "far"), cut(200, "coarse"), layer_um=60.0).mixed
    assert [each.packing for each in mixed] == sorted((each.packing for each in mixed), reverse=True)
    found = {each.name: {finding.what for finding in each.findings} for each in mixed}
    assert "layer under d90" in found["coarse"] and "layer under d90" not in found["far"]
    assert "fines stick" in found["far"]


@pytest.mark.slow
def test_nothing_is_called_safe():
    words = " ".join(f.text + f.remedy for each in blended(cut(5, "fine")).mixed for f in each.findings)
    assert "licensed" in words and "safe " not in words.lower().replace("safety", "")


@pytest.mark.slow
def test_imagined_cuts_are_tried_where_none_is_given():
    made = blended()
    assert len(made.mixed) > 4 and made.mixed[0].packing > made.packing


@pytest.mark.slow
def test_a_cut_without_a_curve_is_refused():
    with pytest.raises(InputError, match="no size curve"):
        blended(Lot(name="x", powder="metal", origin="received"))
