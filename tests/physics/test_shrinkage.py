"""Mass balance with direction, and its slopes."""

import numpy as np
import pytest

from sagger.errors import LawError
from sagger.physics.sintering import shrinkage
from sagger.statistics import chance


@pytest.mark.nature
def test_slopes_are_those_of_finite_differences():
    at, step = (0.55, 0.96, 1.02, 1.15), 1e-6
    change = chance.propagated(lambda x: shrinkage.ratios(*x), at, [step] * 4) / step
    np.testing.assert_allclose(shrinkage.sensitivities(*at), change.T, rtol=1e-6, atol=1e-9)


def test_length_follows_a_third_of_green_density():
    """Sensitivity ds/dρ_g = -(1 - s) / (3 ρ_g): one point of green density is 0.60 mm in 100 mm."""
    scaled = 100.0 / shrinkage.ratios(0.55, 0.97, 1.0, 1.0)[0]
    np.testing.assert_allclose(scaled, 120.819, rtol=1e-5)
    np.testing.assert_allclose(scaled * shrinkage.ratios(0.56, 0.97, 1.0, 1.0)[0], 100.602, rtol=1e-5)


def test_body_that_grows_is_allowed_and_one_that_does_not_change_stays():
    assert np.all(shrinkage.ratios(0.9, 0.8, 1.0, 1.0) > 1)
    assert np.all(shrinkage.ratios(0.9, 0.9, 1.1, 1.2) == 1)


def test_nist_noint1_with_the_wrong_divisor_fails():
    """Negative control: n in place of n - 1 gives another standard error than the certified one."""
    x, y = np.arange(60.0, 71), np.arange(130.0, 141)
    wrong = shrinkage.through_origin(x, y).u * np.sqrt(10 / 11)
    assert abs(wrong / 0.0165289256198347 - 1) > 0.04


@pytest.mark.parametrize("given", [(0.0, 0.9), (0.5, 1.2), (1.2, 0.9)])
def test_impossible_densities_are_refused(given):
    with pytest.raises(LawError, match="densities"):
        shrinkage.ratios(*given, 1.0, 1.0)


def test_coupons_must_come_in_pairs():
    with pytest.raises(LawError, match="pairs"):
        shrinkage.through_origin([1.0, 2.0], [1.0])
    with pytest.raises(LawError, match="three coupons"):
        shrinkage.affine([1.0, 2.0], [0.8, 1.6])
