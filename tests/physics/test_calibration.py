"""Coupons made up from a known powder give it back."""

import numpy as np
import pytest

from sagger.errors import LawError
from sagger.physics.sintering import calibration, sag
from sagger.physics.sintering.sag import Beam
from sagger.statistics.chance import Belief

GREEN = np.full((8, 3), 18.0)
RATIO = np.array([0.84, 0.838, 0.815])


def cubes(scatter=0.0, seed=1):
    draw = np.random.default_rng(seed)
    return GREEN * RATIO * (1 + draw.normal(0, scatter, GREEN.shape))


@pytest.mark.nature
def test_exact_cubes_give_the_directions_back():
    found = calibration.directions(GREEN, cubes(), 1e-6)
    np.testing.assert_allclose([found.y.value, found.z.value], [0.162 / 0.16, 0.185 / 0.16], rtol=1e-9)
    assert found.scatter.value == 0 and found.z.u < 1e-5


def test_stated_u_covers_the_truth_about_as_often_as_it_should():
    off = []
    for seed in range(40):
        found = calibration.directions(GREEN, cubes(0.001, seed), 0.001)
        off.append((found.z.value - 0.185 / 0.16) / found.z.u)
        assert 0.0004 < found.scatter.value < 0.0016
    assert 0.6 < np.std(off) < 1.6


def test_cubes_of_two_firings_scatter_only_within_each():
    hot, cold = cubes(0.001, 1), cubes(0.001, 2) * 1.06
    both = np.concatenate([hot, cold]), np.concatenate([GREEN, GREEN])
    found = calibration.directions(both[1], both[0], 1e-6, ["hot"] * 8 + ["cold"] * 8)
    assert 0.0006 < found.scatter.value < 0.0014
    assert calibration.directions(both[1], both[0], 1e-6).scatter.value > 0.02


def test_green_and_sintered_swapped_is_refused():
    with pytest.raises(LawError, match="swapped"):
        calibration.directions(cubes(), GREEN, 0.01)
    with pytest.raises(LawError, match="two cubes"):
        calibration.directions(GREEN[:1], cubes()[:1], 0.01)


def bridge(soft, span=0.048, height=0.006):
    share = sag.sag_after_sintering(0.55, 0.96, Beam(span, height), 78e3, soft).total
    after = span * (0.55 / 0.96) ** (1 / 3)
    return calibration.Bridge(span, height, share * after, after)


@pytest.mark.nature
def test_bridges_give_r_over_alpha_back():
    start, end = Belief(0.55, 0.0), Belief(0.96, 0.0)
    for soft in (1e-6, 3e-6):
        bars = [bridge(soft), bridge(soft, height=0.008)]
        found = calibration.softness(bars, start, end, 78e3, 1e-9)
        np.testing.assert_allclose(found.value, soft, rtol=1e-9)
        assert found.u < 1e-4 * soft


def test_doubt_of_readings_and_densities_goes_into_r_over_alpha():
    sure, start = Belief(0.96, 0.0), Belief(0.55, 0.0)
    sharp = calibration.softness([bridge(3e-6)], start, sure, 78e3, 1e-5)
    blunt = calibration.softness([bridge(3e-6)], start, sure, 78e3, 5e-5)
    vague = calibration.softness([bridge(3e-6)], start, Belief(0.96, 0.005), 78e3, 1e-5)
    np.testing.assert_allclose(blunt.u / sharp.u, 5, rtol=1e-6)
    assert vague.u > 2 * sharp.u


@pytest.mark.nature
def test_bar_is_as_high_as_its_sag_wants():
    law = sag.yielding(0.55, 0.96, 78e3, 3e-6)
    height = calibration.bar_height(0.048, 0.04, law)
    found = sag.sag_after_sintering(0.55, 0.96, Beam(0.048, height), 78e3, 3e-6)
    np.testing.assert_allclose(found.bending, 0.04, rtol=1e-9)


def test_bridge_that_did_not_sag_is_refused():
    with pytest.raises(LawError, match="longer or thinner"):
        calibration.softness([bridge(3e-6)._replace(sag=0.0)], Belief(0.55, 0), Belief(0.96, 0), 78e3, 1e-5)
