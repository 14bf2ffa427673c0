"""Classes of ISO 286-1 against the standard's own formulas, and against fits that workshop tables print."""

import csv
import math

import pytest

from sagger import cards
from sagger.cards import fits
from sagger.cards.read import SHIPPED
from sagger.errors import CardError, OrderError
from sagger.goods.stated import StatedLimit
from sagger.statistics import tolerance

MAIN = (0, 3, 6, 10, 18, 30, 50, 80, 120, 180, 250, 315, 400, 500)


def limits(letter, grade, size):
    """Lower and upper deviation [um]."""
    limit = StatedLimit(kind="grade", letter=letter, grade=grade, deviations=fits.deviations(letter, grade))
    low, high = tolerance.ends(size, limit)
    return round((low - size) * 1e3, 1) + 0.0, round((high - size) * 1e3, 1) + 0.0


@pytest.mark.outside("tables of fits, from memory of what workshop books print")
@pytest.mark.parametrize(
    ("named", "at_25", "at_50"),
    [
        ("H7", (0, 21), (0, 25)), ("H8", (0, 33), (0, 39)), ("H11", (0, 130), (0, 160)),
        ("g6", (-20, -7), (-25, -9)), ("f7", (-41, -20), (-50, -25)), ("e8", (-73, -40), (-89, -50)),
        ("d9", (-117, -65), (-142, -80)), ("c11", (-240, -110), (-290, -130)), ("h6", (-13, 0), (-16, 0)),
        ("js6", (-6.5, 6.5), (-8, 8)), ("JS9", (-26, 26), (-31, 31)), ("k6", (2, 15), (2, 18)),
        ("m6", (8, 21), (9, 25)), ("n6", (15, 28), (17, 33)), ("p6", (22, 35), (26, 42)),
        ("r6", (28, 41), (34, 50)), ("s6", (35, 48), (43, 59)), ("u6", (48, 61), (70, 86)),
        ("j6", (-4, 9), (-5, 11)), ("G7", (7, 28), (9, 34)), ("F8", (20, 53), (25, 64)),
        ("D10", (65, 149), (80, 180)), ("J7", (-9, 12), (-11, 14)), ("K7", (-15, 6), (-18, 7)),
        ("M7", (-21, 0), (-25, 0)), ("N7", (-28, -7), (-33, -8)), ("P7", (-35, -14), (-42, -17)),
        ("S7", (-48, -27), (-59, -34)), ("N9", (-52, 0), (-62, 0)), ("P9", (-74, -22), (-88, -26)),
        ("IT10", (-42, 42), (-50, 50)), ("IT16", (-650, 650), (-800, 800)),
    ],
)  # fmt: skip
def test_limits_of_well_known_fits(named, at_25, at_50):
    letter, grade = (
        named.rstrip("0123456789"),
        named.lstrip("ABCDEFGHIJKLMNOPQRSTUVXYZabcdefghijklmnopqrstuvwxyz"),
    )
    assert (limits(letter, grade, 25.0), limits(letter, grade, 50.0)) == (at_25, at_50)


@pytest.mark.outside(
    "a drawing that prints both class and limits: 3.5 G6, +4 / +12 um; exceptions of the standard"
)
@pytest.mark.parametrize(
    ("named", "size", "ends"),
    [
        (("G", "6"), 3.5, (4, 12)),
        (("p", "6"), 2.0, (6, 12)),
        (("P", "6"), 2.0, (-12, -6)),  # no hole is raised up to 3 mm
        (("k", "6"), 2.0, (0, 6)),
        (("k", "9"), 25.0, (0, 52)),
        (("M", "6"), 300.0, (-41, -9)),  # -11 by the rule
        (("N", "9"), 2.0, (-29, -4)),
        (("zc", "11"), 100.0, (585, 805)),
    ],
)
def test_limits_where_the_rule_has_exceptions(named, size, ends):
    assert limits(*named, size) == ends


@pytest.mark.outside("formulas of ISO 286-1 for fundamental deviations of shafts, from memory")
def test_the_table_of_shafts_is_that_of_the_formulas():
    """Within 2.1 um or 4.5 %, as rounded; small interference classes and c lie above their formulas."""
    with (SHIPPED / "tolerances" / "iso286_deviations.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    held = [
        (letter, float(row[letter]), by_formula)
        for row in rows
        for letter, by_formula in formulas(row).items()
        if row[letter]
    ]
    off = [one for one in held if abs(one[1] - one[2]) > max(2.1, 0.045 * abs(one[2]))]
    assert len(held) > 400 and off == []


def formulas(row):
    up, low = float(row["up_to_mm"]), float(row["over_mm"])
    d = math.sqrt(3 if low == 0 else low * up)
    start, end = max(m for m in MAIN if m < up), min(m for m in MAIN if m >= up)
    m = math.sqrt(3 if start == 0 else start * end)

    def it(grade):
        return next(r.width_mm[f"IT{grade}"] for r in cards.iso286() if r.over_mm < up <= r.up_to_mm) * 1e3

    made = {
        "a": -(265 + 1.3 * d) if up <= 120 else -3.5 * d,
        "b": -(140 + 0.85 * d) if up <= 140 else -1.8 * max(d, 155),
        "d": -16 * m**0.44, "e": -11 * m**0.41, "f": -5.5 * m**0.41, "g": -2.5 * m**0.34, "h": 0.0,
        "k": 0.6 * m ** (1 / 3), "m": it(7) - it(6), "n": 5 * m**0.34,
        "s": it(8) + 2 if up <= 50 else it(7) + 0.4 * d,
    }  # fmt: skip
    p = float(row["p"])
    assert 0 <= p - it(7) <= 5 or (low == 0 and p == it(6))  # IT7 and 0 to 5 um
    made["r"] = math.sqrt(p * made["s"])
    if low >= 18:
        made |= {letter: it(7) + share * d for letter, share in RISING.items()}
    if low >= 10:
        made |= {"za": it(8) + 3.15 * d, "zb": it(9) + 4 * d, "zc": it(10) + 5 * d}
    if low > 40:
        made["c"] = -(95 + 0.8 * d)
    return made


RISING = {"u": 1.0, "v": 1.25, "x": 1.6, "y": 2.0, "z": 2.5}


@pytest.mark.parametrize(
    ("named", "wrong"),
    [(("Q", "7"), "no such letter"), (("W", "6"), "no such letter"), (("H", "2"), "no such grade"),
     (("j", "9"), "no such class"), (("Js", "9"), "no such letter"), (("Ab", "9"), "no such letter")],
)  # fmt: skip
def test_what_is_no_class_is_refused_with_what_is_known(named, wrong):
    with pytest.raises(CardError, match=wrong) as refused:
        fits.deviations(*named)
    assert refused.value.remedy


def test_a_size_without_such_a_class_is_refused():
    with pytest.raises(OrderError, match="no step"):
        limits("cd", "6", 25.0)
