"""Tables of a calibration: good rows kept, bad ones named."""

import numpy as np
import pytest

from sagger.errors import InputError
from sagger.files import coupons

HEAD = ",".join(coupons.COUPONS)
CUBE = "c1,cube,card,18,18,18.3,15.1,15.1,14.9,26.1,25.9,96.2,,,"


def write(tmp_path, text):
    path = tmp_path / "table.csv"
    path.write_text(text)
    return path


def test_cube_and_bridge_are_read_in_si(tmp_path):
    bridge = "b1,bridge,card,,,6.4,,,,,,,48.1,40.2,1.63"
    found, bad = coupons.coupons(write(tmp_path, f"{HEAD}\n# note\n{CUBE}\n\n{bridge}\n"))
    assert not bad and [each.kind for each in found] == ["cube", "bridge"]
    np.testing.assert_allclose(found[0].green, [0.018, 0.018, 0.0183], rtol=1e-12)
    np.testing.assert_allclose([found[0].density, found[0].mass], [0.962, 0.0259], rtol=1e-12)
    np.testing.assert_allclose([found[1].span, found[1].sag], [0.0481, 0.00163], rtol=1e-12)


@pytest.mark.parametrize(
    ("row", "column", "words"),
    [
        ("c2,cube,card,18,18,,15,15,15,26,26,96,,,", "z_green_mm", "needs this"),
        ("c2,ball,card,18,18,18,15,15,15,26,26,96,,,", "kind", "one of cube, bridge"),
        ("c2,cube,card,18,18,x,15,15,15,26,26,96,,,", "z_green_mm", "a number is needed"),
        ("c2,cube,card,18,18,18,15,-15,15,26,26,96,,,", "y_mm", "above 0"),
        ("c2,cube,card,18,18,18,15,15,15,26,26,101,,,", "density_percent", "below 100"),
    ],
)
def test_bad_row_is_named_and_the_good_one_kept(tmp_path, row, column, words):
    found, (bad,) = coupons.coupons(write(tmp_path, f"{HEAD}\n{row}\n{CUBE}\n"))
    assert len(found) == 1 and (bad.line, bad.name) == (2, column) and words in bad.what
    assert bad.column == coupons.COUPONS.index(column) + 1


def test_runs_keep_their_good_rows_and_say_what_was_read(tmp_path):
    text = "run,time_min,temperature_degC,shrinkage_percent\na,0,25,0\na,5,1000,1\na,4,1100,2\na,9,1300,9\n"
    found, (bad,), read = coupons.runs(write(tmp_path, text))
    assert read == coupons.SHRINKAGE and bad.line == 4 and "must rise" in bad.what
    np.testing.assert_allclose(found["a"].temperature, [298.15, 1273.15, 1573.15], rtol=1e-12)


def test_firings_are_stretches_in_order(tmp_path):
    text = "firing;rate_K_per_min;target_degC;hold_min\ncold;3;600;60\ncold;5;1300;-1\ncold;5;1300;30\n"
    found, (bad,) = coupons.firings(write(tmp_path, text))
    assert len(found["cold"]) == 2 and (bad.line, bad.name) == (3, "hold_min")
    np.testing.assert_allclose(found["cold"][1], [5 / 60, 1573.15, 1800], rtol=1e-12)


def test_strange_heading_is_refused(tmp_path):
    with pytest.raises(InputError, match="no such column"):
        coupons.coupons(write(tmp_path, "coupon,kind,colour\n"))
    with pytest.raises(InputError, match="'kind' is missing"):
        coupons.coupons(write(tmp_path, "coupon\n"))
