"""Goods are frozen, their arrays read-only, and they are known by their content."""

import dataclasses

import numpy as np
import pytest

from sagger.goods.factors import Factors
from sagger.goods.good import digest


def _factors(**changed):
    fields = {"k": np.array([1.2, 1.2, 1.23]), "u": np.full(3, 0.01), "material": "m", "origin": "card"}
    return Factors(**(fields | changed))


def test_a_good_cannot_be_changed():
    factors = _factors()
    with pytest.raises(dataclasses.FrozenInstanceError):
        factors.material = "other"
    with pytest.raises(ValueError, match="read-only"):
        factors.k[0] = 2.0


def test_a_good_keeps_its_own_copy_of_an_array():
    k = np.array([1.2, 1.2, 1.23])
    factors = _factors(k=k)
    k[0] = 9.0
    assert factors.k[0] == 1.2


def test_digest_follows_content_and_nothing_else():
    assert digest(_factors()) == digest(_factors(k=np.array([1.2, 1.2, 1.23])))
    assert digest(_factors()) != digest(_factors(k=np.array([1.2, 1.2, np.nextafter(1.23, 2)])))
    assert digest(_factors()) != digest(_factors(material="n"))


@pytest.mark.parametrize(
    ("one", "other"), [(1, 1.0), (1, "1"), (("a", "b"), ("ab",)), (None, "None"), (0, False)]
)
def test_values_that_look_alike_have_their_own_digest(one, other):
    assert digest(one) != digest(other)


def test_what_has_no_content_has_no_digest():
    with pytest.raises(TypeError, match="no digest for object"):
        digest(object())
