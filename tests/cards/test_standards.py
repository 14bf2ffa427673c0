"""Tolerance and sieve tables against what is printed elsewhere."""

from itertools import pairwise

import numpy as np
import pytest

from sagger import cards
from sagger.errors import CardError


def allowed(grade, size_mm):
    """± of the step that holds this size: over … up to and including."""
    return [half for over, up_to, half in cards.iso2768(grade) if over < size_mm <= up_to]


@pytest.mark.parametrize(
    ("grade", "size_mm", "half_mm"),
    [
        ("m", 120, 0.3),
        ("m", 120.01, 0.5),
        ("c", 2, 0.2),
        ("c", 5, 0.3),
        ("f", 3, 0.05),
        ("f", 30.01, 0.15),
        ("m", 6, 0.1),
        ("m", 6.01, 0.2),
        ("v", 4000, 8.0),
        ("v", 3.01, 0.5),
        ("m", 400, 0.5),
        ("m", 1000, 0.8),
    ],
)
def test_iso_2768_1_table_1(grade, size_mm, half_mm):
    """ISO 2768-1, table 1, from public reproductions."""
    assert allowed(grade, size_mm) == [half_mm]


@pytest.mark.parametrize(("grade", "size_mm"), [("f", 2500), ("v", 2), ("m", 0.4), ("m", 4000.1)])
def test_iso_2768_1_gives_nothing_where_it_prints_a_dash(grade, size_mm):
    assert allowed(grade, size_mm) == []


@pytest.mark.parametrize("grade", ["f", "m", "c", "v"])
def test_iso_2768_1_steps_follow_each_other_and_widen(grade):
    steps = cards.iso2768(grade)
    assert [step[1] for step in steps[:-1]] == [step[0] for step in steps[1:]]
    assert all(low[2] <= high[2] for low, high in pairwise(steps))


def test_iso_2768_1_has_four_classes():
    with pytest.raises(CardError, match="f, m, c, v"):
        cards.iso2768("k")


def width(grade, size_mm):
    (step,) = [step for step in cards.iso286() if step.over_mm < size_mm <= step.up_to_mm]
    return step.width_mm[grade]


@pytest.mark.parametrize(
    ("grade", "size_mm", "width_mm"),
    [("IT14", 10, 0.36), ("IT14", 100, 0.87), ("IT7", 3, 0.010), ("IT7", 3.01, 0.012), ("IT10", 250, 0.185)],
)
def test_iso_286_1_table_1(grade, size_mm, width_mm):
    """ISO 286-1, table 1: IT14 at 10 and 100 mm as an encyclopedia prints them, others as tables do."""
    np.testing.assert_allclose(width(grade, size_mm), width_mm, rtol=1e-12)


def test_iso_286_1_follows_its_own_formula_above_18_mm():
    """ISO 286-1: i = 0.45 cbrt(D) + 0.001 D [um], D = sqrt(lo hi); printed values are rounded, to 3 %."""
    multiples = {"IT5": 7, "IT6": 10, "IT7": 16, "IT8": 25, "IT9": 40, "IT10": 64, "IT11": 100, "IT12": 160}
    for step in cards.iso286():
        if step.over_mm >= 18:
            middle = np.sqrt(step.over_mm * step.up_to_mm)
            i = 0.45 * np.cbrt(middle) + 0.001 * middle
            for grade, multiple in multiples.items():
                np.testing.assert_allclose(step.width_mm[grade] * 1000, multiple * i, rtol=0.03)


@pytest.mark.parametrize(("number", "opening_um"), [(325, 45), (200, 75), (70, 212), (635, 20), (4, 4750)])
def test_astm_e11_openings(number, opening_um):
    """ASTM E11 / ISO 565, nominal openings, from public excerpts."""
    (sieve,) = [sieve for sieve in cards.sieves() if sieve.number == number]
    np.testing.assert_allclose(sieve.value, opening_um * 1e-6, rtol=1e-12)


def test_openings_fall_as_numbers_rise():
    rows = cards.sieves()
    assert all(a.number < b.number and a.value > b.value for a, b in pairwise(rows))


def test_afs_worked_example():
    """Public note on the grain fineness number: 88.2 % retained gives 15 243 and the printed number 173."""
    retained = {40: 0.4, 50: 1.3, 70: 2.4, 100: 4.5, 140: 17.1, 200: 22.1, 270: 21.8, 0: 18.6}
    multiplier = {row.number: row.value for row in cards.afs()}
    total = sum(share * multiplier[number] for number, share in retained.items())
    np.testing.assert_allclose(total, 15243, rtol=1e-12)
    assert round(total / sum(retained.values())) == 173
