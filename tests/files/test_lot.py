"""The lot file, and tables of measurements: what is read, and how what is wrong is told."""

import numpy as np
import pytest

from sagger.errors import LotError
from sagger.files import lot, measured

TAP = (
    '[tap_density]\nvalue = "4.9 g/cm3"\nu = "0.03 g/cm3"\n'
    'source = "lab"\nwhere = "3 x"\nstanding = "measured"\n'
)
HEAD = 'powder = "steel-316l"\n'
INLINE = '[curve]\nmethod = "sieve"\nsize = ["5 um", "16 um", "40 um"]\nfiner = ["2 %", "50 %", "99 %"]\n'


@pytest.fixture
def write(tmp_path):
    def put(text, name="lot.toml"):
        (tmp_path / name).write_text(text)
        return tmp_path / name

    return put


def test_figures_carry_value_doubt_and_standing(write):
    found = lot.read(write(HEAD + TAP + INLINE))
    assert (found.name, found.powder, found.origin) == ("lot", "steel-316l", "received")
    np.testing.assert_allclose([found.tap_density.value, found.tap_density.u], [4900, 30], rtol=1e-12)
    assert found.tap_density.standing == "measured" and found.tap_density.source == "lab"
    np.testing.assert_allclose(found.curve.size, [5e-6, 16e-6, 40e-6], rtol=1e-12)


def test_a_range_is_a_rectangular_doubt(write):
    text = HEAD + TAP.replace('u = "0.03 g/cm3"', 'range = "4.8 to 5.1 g/cm3"')
    np.testing.assert_allclose(lot.read(write(text)).tap_density.u, 150 / np.sqrt(3), rtol=1e-9)


def test_a_curve_may_stand_in_a_table_beside_it(write):
    write("# laser\nsize_um,finer_percent\n5,2\n16,50\n40,99\n", "c.csv")
    found = lot.read(write(HEAD + '[curve]\nmethod = "laser diffraction"\nfile = "c.csv"\n')).curve
    np.testing.assert_allclose(found.finer, [0.02, 0.5, 0.99], rtol=1e-12)


def test_sieves_are_cumulated_from_the_pan_up(write):
    path = write("opening_um,retained\n212,1.6\n150,8.4\n106,30\n75,50\n0,10\n", "s.csv")
    size, finer = measured.curve(path)
    np.testing.assert_allclose(size * 1e6, [75, 106, 150, 212, 212 * np.sqrt(2)], rtol=1e-12)
    np.testing.assert_allclose(finer, [0.10, 0.60, 0.90, 0.984, 1.0], rtol=1e-12)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (HEAD + "tap = \n", "line 2, column"),
        (HEAD + "colour = 1\n", "colour: there is no such key"),
        (TAP, "powder: text is needed"),
        (HEAD + TAP.replace("4.9 g/cm3", "4.9 mm"), "tap_density, value: 'mm' is a unit of length"),
        (HEAD + TAP.replace('source = "lab"\n', ""), "tap_density, source"),
        (HEAD + TAP.replace("measured", "certain"), "tap_density, standing"),
        (HEAD + TAP + TAP.replace("tap_", "apparent_").replace("4.9", "5.1"), "must lie below"),
        (HEAD + INLINE.replace("50 %", "1 %"), "point 2 does not rise"),
        (HEAD + INLINE.replace("2 %", "12 %"), "does not reach 10% finer"),
        (HEAD + "exposures = [0.5, 0.2]\n", "together 1"),
    ],
)
def test_what_is_wrong_is_told_with_its_place(write, text, told):
    with pytest.raises(LotError) as refused:
        lot.read(write(text))
    assert told in str(refused.value) and "lot.toml" in str(refused.value)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("size_um,finer_percent\n5,2\n16,fifty\n", "line 3, column finer_percent: a number is needed"),
        ("size_um,finer_percent\n5,2\n16\n", "line 3 has 1 cells"),
        ("size_um\n5\n", "column 'finer_percent' is missing"),
        ("", "column 'size_um' is missing|empty"),
        ("size_um,finer_percent\n5,2\n5,50\n9,99\n", "size of point 2"),
        ("opening_um,retained\n75,-2\n100,5\n", "0 or more"),
    ],
)
def test_a_wrong_cell_of_a_table_is_told_by_line_and_column(write, text, told):
    with pytest.raises(LotError, match=told):
        measured.curve(write(text, "c.csv"))
