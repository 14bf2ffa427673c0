"""A table of readings keeps its good rows and names the others by line and column."""

import numpy as np
import pytest

from sagger.errors import InputError
from sagger.files import readings
from sagger.goods.reading import Instrument

INSTRUMENTS = {
    "calliper 1": Instrument(
        name="calliper 1", kind="length", u=5e-6, u_shared=1e-5, u_shared_relative=2e-4, calibrated=""
    ),
    "cell": Instrument(name="cell", kind="force", u=0.2, u_shared=0.0, u_shared_relative=0.01),
    "balance": Instrument(name="balance", kind="mass", u=1e-6, u_shared=0.0),
}


def _read(tmp_path, text):
    path = tmp_path / "table.csv"
    path.write_text(text, encoding="utf-8")
    return readings.read(path, INSTRUMENTS)


def test_units_axes_and_the_instrument_come_with_a_length(tmp_path):
    text = "box,piece,kind,state,axis,value,unit,instrument,nominal\n"
    text += "B1,a,length,sintered,x,20.01,mm,calliper 1,20\nB1,a,length,green,y,24010 um,mm,calliper 1,\n"
    first, second = _read(tmp_path, text).readings
    np.testing.assert_allclose(
        [first.value, first.nominal, second.value], [0.02001, 0.02, 0.02401], rtol=1e-12
    )
    np.testing.assert_allclose(first.u_shared, np.hypot(1e-5, 2e-4 * 0.02001), rtol=1e-12)
    assert (first.u, first.axis, second.axis, second.nominal) == (5e-6, "x", "y", None)


BAD = {
    "B1,a,length,sintered,x,abc,mm,calliper 1,": ("value", "a number is needed, not 'abc'"),
    "B1,a,length,sintered,x,nan,mm,calliper 1,": ("value", "a number is needed"),
    "B1,a,length,sintered,x,-2,mm,calliper 1,": ("value", "must be above 0"),
    "B1,a,length,sintered,x,20,g,calliper 1,": ("unit", "unit of mass, length is needed"),
    "B1,a,length,sintered,x,20,,calliper 1,": ("unit", "a number and a unit are needed"),
    "B1,a,length,sintered,w,20,mm,calliper 1,": ("axis", "x, y or z"),
    "B1,a,length,burnt,x,20,mm,calliper 1,": ("state", "green, brown, sintered"),
    "B1,a,weight,sintered,x,20,mm,calliper 1,": ("kind", "length, thickness"),
    "B1,a,length,sintered,x,20,mm,calliper 9,": ("instrument", "not entered"),
    "B1,a,length,sintered,x,20,mm,,": ("u", "no uncertainty is known"),
    "B1,a,length,sintered,x,20,mm,,-1": ("u", "cannot be negative"),
    "B1,a,mass,sintered,,20,g,calliper 1,": ("instrument", "reads length, not mass"),
    ",a,length,sintered,x,20,mm,calliper 1,": ("box", "empty"),
    "B1,a,length,sintered,x,20,mm,calliper 1,1,,,,,": ("", "14 cells"),
    "B1,a,hardness,sintered,,200,,,5": ("unit", "needs its scale"),
}


@pytest.mark.parametrize("row", BAD)
def test_a_bad_row_is_named_and_the_good_ones_are_kept(tmp_path, row):
    heading = ["box", "piece", "kind", "state", "axis", "value", "unit", "instrument", "u"]
    good = "B1,a,length,sintered,x,20,mm,calliper 1,"
    table = _read(tmp_path, "\n".join(["# from the bench", ",".join(heading), good, row, good]))
    name, what = BAD[row]
    (found,) = table.bad
    assert (found.line, found.name, found.column) == (4, name, heading.index(name) + 1 if name else 0)
    assert what in found.what
    assert len(table.readings) == 2


def test_a_quoted_line_break_does_not_shift_the_line_numbers(tmp_path):
    text = "box;piece;kind;state;value;unit;u;feature\n"
    text += 'B;a;length;green;1;mm;0;"two\nlines"\nB;a;length;green;x;mm;0;\n'
    table = _read(tmp_path, text)
    assert [row.line for row in table.bad] == [4]


WEIGHING = "box,piece,kind,state,unit,in_air,in_water,soaked,after,water,u_water,instrument,u\n"


def test_a_closed_piece_is_weighed_with_the_buoyancy_of_air(tmp_path):
    # worked apart from this code: 7.7816232 g/cm3, u 0.0021927 in all
    table = _read(tmp_path, WEIGHING + "B,a,weighing,sintered,g,37.4120,32.6200,,,22.0,0.2,balance,0.001\n")
    air, water, density = table.readings
    assert [air.feature, water.feature, density.feature] == ["in air", "in water", "ISO 3369"]
    np.testing.assert_allclose(density.value, 7781.6232, rtol=1e-7)
    np.testing.assert_allclose(np.hypot(density.u, density.u_shared), 2.1927, rtol=1e-3)
    np.testing.assert_allclose(density.u_shared, np.hypot(0.355, 0.204), rtol=2e-3)


def test_an_open_piece_is_weighed_filled(tmp_path):
    # weighing.toml, worked apart from this code: 7.67172 g/cm3
    row = "B,a,weighing,sintered,g,76.7175,66.8410,76.8231,,20,,balance,\n"
    density = _read(tmp_path, WEIGHING + row).readings[-1]
    assert density.feature == "ISO 2738"
    np.testing.assert_allclose(density.value, 7671.72, rtol=1e-6)


BENDING = "box,piece,kind,state,force,span,width,thickness,u_size,instrument,u\n"


def test_a_broken_bar_gives_its_strength(tmp_path):
    """ISO 3995, 3 F L / (2 w t2) by hand: 3 x 40 N x 25 mm / (2 x 12 mm x 36 mm2) = 3.4722 MPa."""
    row = "B,a,bending,green,40 N,25 mm,12 mm,6 mm,0.03 mm,,0.5 N\n"
    (strength,) = _read(tmp_path, BENDING + row).readings
    assert (strength.kind, strength.feature, strength.unit) == ("strength", "ISO 3995", "MPa")
    np.testing.assert_allclose(strength.value, 3.472222e6, rtol=1e-6)
    relative = np.hypot(0.5 / 40, np.hypot(0.03 / 12, 2 * 0.03 / 6))  # JCGM 100, 5.1.6
    np.testing.assert_allclose(strength.u, relative * strength.value, rtol=1e-3)
    row = "B,a,bending,green,40 N,25 mm,12 mm,6 mm,,cell,\n"
    (strength,) = _read(tmp_path, BENDING + row).readings
    np.testing.assert_allclose(strength.u_shared, 0.01 * strength.value, rtol=1e-9)


@pytest.mark.parametrize("name", ["force", "span", "width", "thickness"])
def test_a_broken_bar_needs_all_its_sizes(tmp_path, name):
    cells = {"force": "40 N", "span": "25 mm", "width": "12 mm", "thickness": "6 mm"} | {name: "0 mm"}
    if name == "force":
        cells[name] = ""
    row = f"B,a,bending,green,{','.join(cells.values())},,,0.5 N\n"
    (found,) = _read(tmp_path, BENDING + row).bad
    assert found.name == name


@pytest.mark.parametrize(
    ("row", "name"),
    [
        ("B,a,weighing,sintered,g,10,8.8,,10.02,20,,balance,", "after"),
        ("B,a,weighing,sintered,g,10,,,,20,,balance,", "in_water"),
        ("B,a,weighing,sintered,g,10,8.8,,,,,balance,", "water"),
        ("B,a,weighing,sintered,g,10,11,,,20,,balance,", "in_water"),
        ("B,a,weighing,sintered,g,10,8.8,9.9,,20,,balance,", "in_water"),
        ("B,a,weighing,sintered,g,10,8.8,,,60,,balance,", "in_water"),
    ],
)
def test_masses_that_cannot_be_of_one_closed_piece_are_told(tmp_path, row, name):
    (found,) = _read(tmp_path, WEIGHING + row + "\n").bad
    assert found.name == name


@pytest.mark.parametrize(
    ("heading", "message"),
    [
        ("box,piece,kind,state,vale", "Did you mean 'value'"),
        ("box,piece,kind", "column 'state' is missing"),
        ("box,piece,kind,state,box", "same name"),
        ("", "is missing"),
    ],
)
def test_a_heading_that_does_not_fit_is_refused(tmp_path, heading, message):
    with pytest.raises(InputError, match=message):
        _read(tmp_path, heading + "\n")


def test_a_file_that_is_no_text_is_refused(tmp_path):
    (tmp_path / "t.csv").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(InputError, match="UTF-8"):
        readings.read(tmp_path / "t.csv", {})
    with pytest.raises(InputError, match="cannot be read"):
        readings.read(tmp_path / "none.csv", {})
