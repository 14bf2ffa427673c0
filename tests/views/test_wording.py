"""How figures read."""

from __future__ import annotations

import pytest

from sagger.goods.order import Tolerance
from sagger.views import wording


@pytest.mark.parametrize(
    ("value", "count", "words"),
    [(0.012345, 3, "0.0123"), (12.345, 3, "12.3"), (9.996, 3, "10.0"), (1234.5, 3, "1 230"), (0.0, 3, "0")],
)
def test_digits_are_significant(value: float, count: int, words: str) -> None:
    assert wording.digits(value, count) == words


def test_infinity_is_a_dash() -> None:
    assert wording.digits(float("inf")) == "–"


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (45, "45.0 s"),
        (119, "119 s"),
        (720, "12 min"),
        (12_000, "3 h 20 min"),
        (7200, "2 h"),
        (111_600, "31 h"),
    ],
)
def test_times_are_said_as_people_say_them(seconds: float, words: str) -> None:
    assert wording.duration(seconds) == words


def test_a_share_is_never_rounded_to_certainty() -> None:
    assert wording.share(0.99996) == "over 99.9 %"
    assert wording.share(0.9994) == "99.9 %"
    assert wording.share(1.0) == "100.0 %"


def test_si_comes_out_in_the_trade_s_units() -> None:
    assert wording.shown(473.15, "degC") == "200 °C"
    assert wording.shown(5e-5, "um") == "50.0 µm"
    assert wording.mass(0.0545) == "54.5 g"
    assert wording.volume(6.26e-5) == "62.6 mL"


def test_tolerances_read_as_on_a_drawing() -> None:
    asked = [
        Tolerance(kind="mm", value=0.2),
        Tolerance(kind="percent", value=0.5),
        Tolerance(kind="iso2768", grade="m"),
    ]
    assert [wording.tolerance(each) for each in asked] == ["± 0.2 mm", "± 0.5 %", "ISO 2768-m"]


def test_the_notice_never_calls_anything_safe() -> None:
    assert wording.NOTICE.startswith("Planning aid, not a safety assessment.")
    assert "safe " not in wording.NOTICE.lower()


def test_units_of_files_are_written_as_people_write_them():
    told = {"50 um": "50 µm", "0.55 -": "0.55", "7.9 to 8.0 g/cm3": "7.9 to 8.0 g/cm³", "8 mm3/s": "8 mm3/s"}
    assert {text: wording.signed(text) for text in told} == told
