"""A mean seen through lots and places: against a worked example, a library, and a known truth."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import t as student

from sagger.errors import LawError
from sagger.statistics.mixed import fitted

# Made-up ratios of four furnace places, worked with the analysis of variance apart from this code: mean
# 0.827125, MSB 3.445833e-6, MSW 6.375e-8, se of the mean 0.00041508 on 3 degrees of freedom, shrunk means
# .8271986 .8262171 .8281801 .8269042 (front left, front right, back left, back right).
PLACES = {
    "FL": [0.8271, 0.8276, 0.8269, 0.8274, 0.8270],
    "FR": [0.8262, 0.8259, 0.8265, 0.8260, 0.8264],
    "BL": [0.8280, 0.8284, 0.8279, 0.8283, 0.8284],
    "BR": [0.8270, 0.8266, 0.8272, 0.8268, 0.8269],
}
VALUES = np.array([value for values in PLACES.values() for value in values])
NAMES = [name for name, values in PLACES.items() for _ in values]


@pytest.mark.slow
@pytest.mark.outside("analysis of variance, worked apart")
def test_a_balanced_set_gives_what_the_analysis_of_variance_gives():
    found = fitted(VALUES, {"place": NAMES})
    np.testing.assert_allclose(found.values[0], 0.827125, rtol=1e-9)
    np.testing.assert_allclose(found.u[0], 0.00041508, rtol=2e-5)
    np.testing.assert_allclose(found.freedom, 3, rtol=1e-3)
    np.testing.assert_allclose(found.variance["rest"], 6.375e-8, rtol=1e-4)
    np.testing.assert_allclose(found.variance["place"], (3.445833e-6 - 6.375e-8) / 5, rtol=1e-4)


@pytest.mark.slow
def test_a_place_with_few_readings_is_drawn_to_the_mean():
    found = fitted(VALUES, {"place": NAMES})
    shrunk = [found.values[0] + found.levels["place"][name] for name in PLACES]
    np.testing.assert_allclose(shrunk, [0.8271986, 0.8262171, 0.8281801, 0.8269042], rtol=0, atol=6e-8)


def test_groups_that_do_not_differ_have_no_variance():
    found = fitted(np.array([1.0, 2.0, 1.0, 2.0, 1.0, 2.0]), {"lot": list("aabbcc")})
    assert found.variance["lot"] == 0.0
    np.testing.assert_allclose(found.variance["rest"], 0.3, rtol=1e-9)


def test_a_single_group_is_left_out():
    found = fitted(VALUES, {"lot": ["only"] * 20, "place": NAMES})
    assert set(found.variance) == {"place", "rest"}


def test_two_readings_are_too_few():
    with pytest.raises(LawError, match="too few"):
        fitted(np.array([1.0, 2.0]), {})


@pytest.mark.slow
@pytest.mark.outside("statsmodels")
def test_crossed_groups_agree_with_the_library_at_its_best():
    """statsmodels' own restricted likelihood is no higher anywhere near than at what is found here."""
    from statsmodels.regression.mixed_linear_model import MixedLM, MixedLMParams, VCSpec

    values, groups = drawn(np.random.default_rng(5), lots=5, places=6)
    found = fitted(values, groups)
    marks = [(np.array(of)[:, None] == np.unique(of)[None]).astype(float) for of in groups.values()]
    names = [[[str(n) for n in range(mark.shape[1])]] for mark in marks]
    spec = VCSpec(list(groups), names, [[mark] for mark in marks])
    model = MixedLM(values, np.ones((len(values), 1)), groups=np.zeros(len(values)), exog_vc=spec)
    model.cov_pen = None  # set by fit(), which is not wanted here

    def likelihood(change):
        shares = [
            found.variance[name] / found.variance["rest"] * c for name, c in zip(groups, change, strict=True)
        ]
        packed = MixedLMParams.from_components(fe_params=found.values, vcomp=np.array(shares))
        return model.loglike(packed, profile_fe=True)

    best = likelihood((1.0, 1.0))
    for change in [(1.2, 1.0), (0.8, 1.0), (1.0, 1.2), (1.0, 0.8)]:
        assert likelihood(change) < best


def drawn(random, lots, places, mean=0.83):
    lot = np.repeat(np.arange(lots), 8)
    place = (np.arange(lots * 8) + lot) % places
    own = random.normal(0, 8e-4, lots)[lot] + random.normal(0, 6e-4, places)[place]
    values = mean + own + random.normal(0, 4e-4, lots * 8)
    return values, {"lot": [str(n) for n in lot], "place": [str(n) for n in place]}


@pytest.mark.slow
def test_ninety_five_percent_intervals_hold_the_truth_in_ninety_three_to_ninety_seven():
    random, hit, count = np.random.default_rng(2), 0, 300
    for _ in range(count):
        found = fitted(*drawn(random, lots=6, places=5))
        hit += abs(found.values[0] - 0.83) <= student.ppf(0.975, found.freedom) * found.u[0]
    assert 0.93 <= hit / count <= 0.97
