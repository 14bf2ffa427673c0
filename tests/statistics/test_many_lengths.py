"""Lengths of many sizes at once against a general library's mixed model."""

import numpy as np
import pytest
from statsmodels.regression.mixed_linear_model import MixedLM

from sagger.statistics import many_lengths
from sagger.statistics.many_lengths import FACES, REST, LengthRows


@pytest.mark.slow
@pytest.mark.outside("statsmodels MixedLM: restricted maximum likelihood, one random effect")
def test_one_group_and_lengths_alike_are_a_mixed_model():
    """With all lengths alike what grows with a length and what does not are one scatter; lots are another."""
    rng, lots, length = np.random.default_rng(4), np.repeat(np.arange(6), 8), 20.0
    drawn = rng.uniform(20, 30, len(lots))
    lot = rng.normal(0, 2e-3, 6)[lots]
    read = drawn / 1.2 + length * (lot + rng.normal(0, 8e-4, len(lots)))
    nothing = np.zeros(len(lots))
    rows = LengthRows(
        values=read,
        terms=drawn[:, None],
        lengths=np.full(len(lots), length),
        u=nothing,
        u_shared=nothing,
        instruments=["calliper"] * len(lots),
    )
    ours = many_lengths.fitted(rows, {"lot": [str(each) for each in lots]})
    theirs = MixedLM(100 * read, 100 * drawn[:, None], groups=lots).fit(reml=True)
    np.testing.assert_allclose(ours.values, theirs.fe_params, rtol=1e-6)
    in_them = 100**2  # they are given hundredths
    lot, rest = (in_them * length**2 * ours.variance[name] for name in ("lot", REST))
    np.testing.assert_allclose(lot, float(theirs.cov_re[0, 0]), rtol=0.01)
    np.testing.assert_allclose(rest + in_them * ours.variance[FACES], theirs.scale, rtol=0.01)
