"""Readings of lines of the drawing: taken by number or name, refused by line, judged, certified."""

import json
import math

import pytest

import drawn_shop
from sagger.desk.home import ledger
from sagger.desk.measuring import readings as desk
from sagger.errors import InputError
from sagger.ledger import proof, readings

WHO = drawn_shop.WHO


@pytest.fixture(scope="module")
def part():
    return drawn_shop.block()


@pytest.fixture
def job(tmp_path, monkeypatch, part):
    monkeypatch.setenv("SAGGER_HOME", str(tmp_path))
    monkeypatch.delenv("SAGGER_LEDGER_URL", raising=False)
    number = drawn_shop.planned(part)
    drawn_shop.booked(number)
    return number


HEADING = "box,piece,dimension,value,unit,instrument"


def load(tmp_path, *rows, heading=HEADING):
    path = tmp_path / f"read-{len(rows)}.csv"
    path.write_text("\n".join([heading, *rows]) + "\n")
    return desk.load(path, WHO)


def test_readings_are_taken_by_number_and_by_name_each_in_its_own_unit(job, tmp_path):
    taken = load(
        tmp_path,
        "B1,housing 1,1.2,8.012,mm,probe",
        "B1,housing 1,seat,10.02,mm,probe",
        "B1,housing 1,A5,12050,um,probe",
        "B1,housing 1,7,90.2,deg,level",
        "B1,housing 1,8,0.031,mm,probe",
        "B1,housing 1,9,0 mm,,probe",
    )
    assert not taken.refused and taken.document.readings == 6
    kept = readings.listed(ledger())
    assert [(each.kind, each.state, each.part) for each in kept] == [("dimension", "sintered", "housing")] * 6
    names = ["1.2 diameter", "2 diameter seat", "5 thickness", "7 angle", "8 flatness", "9 position"]
    assert [each.feature for each in kept] == names
    values = [8.012e-3, 10.02e-3, 12.05e-3, math.radians(90.2), 31e-6, 0.0]
    assert [each.value for each in kept] == pytest.approx(values, abs=0, rel=1e-12)
    assert [each.nominal for each in kept][:3] == pytest.approx([8e-3, 10e-3, 12e-3], abs=0)
    assert kept[3].nominal == pytest.approx(math.pi / 2, abs=0) and kept[4].nominal is None
    assert [each.u for each in kept] == [2e-6] * 3 + [2e-4] + [2e-6] * 2
    assert "7 angle  90.2000 ± 0.0115 deg" in " ".join(desk.listed()[1])


BAD = [
    ("B1,housing 1,12,8,mm,probe", "dimension", "lines 1 to 9, no 12"),
    ("B1,housing 1,1.3,8,mm,probe", "dimension", "2 features, no 1.3; write 1, 1.1"),
    ("B1,housing 1,2.1,8,mm,probe", "dimension", "one feature, no 2.1; write 2"),
    ("B1,housing 1,seet,8,mm,probe", "dimension", "did you mean 'seat'?"),
    ("B1,housing 1,,8,mm,probe", "dimension", "this is empty"),
    ("B1,housing 1,2,8,deg,probe", "unit", "length"),
    ("B1,housing 1,7,90,mm,level", "unit", "angle"),
    ("B1,housing 1,7,90,deg,probe", "instrument", "reads length, not angle"),
    ("B1,housing 1,2,-8,mm,probe", "value", "a diameter is above 0"),
    ("B1,housing 1,8,-0.01,mm,probe", "value", "a flatness is 0 or more"),
    ("B1,housing 9,2,8,mm,probe", "piece", "did you mean 'housing"),
    ("B7,housing 1,2,8,mm,probe", "dimension", "no drawing is known"),
    ("B1,housing 1,2,8,mm,", "u", "no uncertainty is known"),
]


@pytest.mark.parametrize(("row", "column", "what"), BAD)
def test_a_wrong_row_is_named_by_line_and_column_and_the_good_one_is_kept(job, tmp_path, row, column, what):
    taken = load(tmp_path, "B1,housing 2,2,10.01,mm,probe", row)
    (bad,) = taken.document.bad
    assert (bad.line, bad.name) == (3, column) and what in bad.what
    columns = ["", *HEADING.split(",")]
    assert columns[bad.column] == (column if column in columns else "")
    assert taken.refused and len(readings.listed(ledger())) == 1


@pytest.mark.parametrize(("column", "cell"), [("axis", "x"), ("nominal", "8 mm"), ("feature", "bore")])
def test_what_the_drawing_says_a_row_does_not_say_again(job, tmp_path, column, cell):
    heading = f"box,piece,dimension,value,unit,instrument,{column}"
    with pytest.raises(InputError, match="the drawing says this"):
        load(tmp_path, f"B1,housing 1,2,10,mm,probe,{cell}", heading=heading)


def test_a_reading_is_replaced_or_voided_as_others_are(job, tmp_path):
    load(tmp_path, "B1,housing 1,2,10.4,mm,probe", "B1,housing 1,3,40.1,mm,probe")
    wrong, length = readings.listed(ledger())
    cells = {"box": "B1", "piece": "housing 1", "dimension": "seat", "value": "10.04 mm", "u": "0.01 mm"}
    desk.enter({**cells, "corrects": str(wrong.number)}, WHO)
    desk.void((length.number,), WHO, "the wrong piece")
    (kept,) = readings.listed(ledger())
    assert kept.value == pytest.approx(10.04e-3, abs=0, rel=1e-12) and kept.corrects == wrong.number
    assert proof.prove(ledger()).entries > 0


def test_overall_sizes_stand_in_the_same_table(job, tmp_path):
    heading = "box,piece,dimension,kind,state,axis,nominal,value,unit,instrument"
    taken = load(
        tmp_path,
        "B1,housing 1,,length,sintered,x,40 mm,40.1,mm,probe",
        "B1,housing 1,3,,,,,40.1,mm,probe",
        heading=heading,
    )
    assert not taken.refused
    assert [each.kind for each in readings.listed(ledger())] == ["length", "dimension"]
    assert json.dumps(taken.document.readings) == "2"
