"""Readings of lines of the drawing: taken by number or name, refused by line, judged, certified."""

import json
import math

import pypdfium2
import pytest
from scipy.stats import norm

import drawn_shop
from sagger.desk.home import ledger
from sagger.desk.measuring import certifying, judging
from sagger.desk.measuring import readings as desk
from sagger.errors import InputError
from sagger.ledger import proof, readings
from sagger.statistics import capability
from sagger.views.charts import control

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


def test_each_dimension_is_judged_against_its_own_limits_with_the_doubt_of_its_instrument(job, tmp_path):
    """Limits 7.9 to 8.1, guard 1.65 x 2 um = 3.3 um; a zone of 0.1 mm has no lower one."""
    load(
        tmp_path,
        "B1,housing 1,1.1,8.0965,mm,probe",
        "B1,housing 2,1.1,8.0975,mm,probe",
        "B1,housing 3,1.1,8.1025,mm,probe",
        "B1,housing 1,1.2,7.896,mm,probe",
        "B1,housing 1,8,0.0005,mm,probe",
        "B1,housing 2,8,0.104,mm,probe",
        "B1,housing 1,7,90.52,deg,level",
        "B1,housing 2,7,90.47,deg,level",
    )
    judged = judging.judge_dimensions(job=job)
    said = [(row.number, row.said) for row in judged.compared]
    assert said == [
        ("1.1", "conforms"), ("1.1", "undecided"), ("1.1", "undecided"), ("1.2", "does not conform"),
        ("8", "conforms"), ("8", "does not conform"), ("7", "does not conform"), ("7", "conforms"),
    ]  # fmt: skip
    # 1.65 x 0.2 mrad = 0.0189 degrees
    assert [line.number for line in judged.lines] == ["1.1", "1.2", "7", "8"]
    first = judged.lines[0]
    assert (first.pieces, first.conform, first.undecided, first.outside) == (3, 1, 2, 0)
    assert (first.least, first.greatest) == pytest.approx((8.0965, 8.1025), abs=0, rel=1e-12)
    assert judged.compared[1].inside == pytest.approx(norm.cdf(2.5 / 2), abs=0, rel=1e-9)


def test_beyond_a_width_that_material_may_ease_nothing_is_decided(job, tmp_path):
    load(tmp_path, "B1,housing 1,9,0.35,mm,probe", "B1,housing 2,9,0.2,mm,probe")
    assert [row.said for row in judging.judge_dimensions().compared] == ["undecided", "conforms"]


def test_a_feature_is_charted_by_piece_and_about_nominal(job, tmp_path):
    rows = [
        f"B1,housing {n},2,{10 + off},mm,probe" for n, off in ((1, 0.02), (1, 0.04), (2, -0.01), (3, 0.0))
    ]
    load(tmp_path, *rows)
    (line,) = judging.judge_dimensions(box="B1").lines
    assert line.charts.values == pytest.approx((0.03, -0.01, 0.0), abs=1e-12)
    assert line.charts.off_nominal and line.charts.unit == "mm" and (line.pieces, line.readings) == (3, 4)
    low = capability.judged(line.charts.values, -0.1, 0.1)
    assert line.index is None and line.index_least == pytest.approx(low.least, abs=0, rel=1e-9)
    document, lines = judging.dimensions(tmp_path / "charts")
    assert document["schema"] == "sagger-judged-lines/1" and lines[0].startswith("4 readings of 1 dimension:")
    (chart,) = (tmp_path / "charts").iterdir()
    drawn = chart.read_text()
    assert "housing 2, diameter seat, 9.9 to 10.1 mm" in drawn and drawn.count("tolerance") >= 2


def test_a_chart_of_a_dimension_stands_among_the_others(job, tmp_path):
    load(tmp_path, *(f"B1,housing {n},7,{90 + n / 10},deg,level" for n in (1, 2, 3)))
    ((size, number),) = judging.sizes()
    assert (size.kind, size.feature, size.nominal_mm, size.scale, number) == (
        "dimension",
        "7 angle",
        90.0,
        "deg",
        3,
    )
    assert judging.charted(size).values == pytest.approx((0.1, 0.2, 0.3), abs=1e-9)
    assert control.name(size) == "housing, 7 angle, 90 deg"


def test_what_cannot_be_judged_is_told(job, tmp_path, monkeypatch):
    with pytest.raises(InputError, match="no line of a drawing was measured"):
        judging.judge_dimensions()
    load(tmp_path, "B1,housing 1,2,10,mm,probe")
    monkeypatch.setattr("sagger.desk.measuring.drawings.lines_of", lambda book: lambda box, piece: ())
    judged = judging.judge_dimensions()
    assert judged.compared == () and "no such line" in judged.left_out[0]


def test_the_certificate_lists_each_dimension_and_what_was_not_read(job, tmp_path):
    load(
        tmp_path,
        "B1,housing 1,1.1,8.02,mm,probe",
        "B1,housing 2,1.1,8.06,mm,probe",
        "B1,housing 3,1.1,8.04,mm,probe",
        "B1,housing 1,1.2,8.2,mm,probe",
        "B1,housing 2,8,0.05,mm,probe",
        "B1,housing 2,7,90.1,deg,level",
    )
    letter = certifying.certificate(job)
    section = next(each for each in letter.sections if each.heading == "Dimensions of the drawing")
    bore = ("8 mm", "7.9 to 8.1 mm")
    assert section.rows == (
        ("1.1 diameter", *bore, "3", "8.0200", "8.0400", "8.0600", "± 0.0040", "all conform"),
        ("1.2 diameter", *bore, "1", *["8.2000"] * 3, "± 0.0040", "1 of 1 outside"),
        ("7 angle", "90 °", "89.5 to 90.5 °", "1", *["90.1000"] * 3, "± 0.023", "conforms"),
        ("8 flatness", "", "up to 0.1 mm", "1", *["0.0500"] * 3, "± 0.0040", "conforms"),
    )
    parts = next(each for each in letter.sections if each.heading == "Parts").rows
    assert parts[0][4:] == ("3", "2", "0", "1")  # measured, all conform, undecided, outside
    silent = " ".join(next(each for each in letter.sections if each.heading.startswith("What this")).lines)
    assert "nothing was read: 2, 3, 4, 5, 6, 9." in silent
    document, lines = certifying.written(job, tmp_path / "papers")
    assert "4 dimensions of the drawing" in lines[0] and document["schema"] == "sagger-letter/1"
    page = (tmp_path / "papers" / "certificate.html").read_text()
    paper = pypdfium2.PdfDocument(tmp_path / "papers" / "certificate.pdf")
    said = " ".join(" ".join(sheet.get_textpage().get_text_range() for sheet in paper).split())
    for words in ("Dimensions of the drawing", "1.2", "7.9 to 8.1 mm", "8.040", "± 0.0040"):
        assert words in page and words in said


def test_green_pieces_are_not_held_against_the_limits_of_finished_ones(job, tmp_path):
    heading = "box,piece,dimension,state,value,unit,instrument"
    load(tmp_path, "B1,housing 1,3,green,47.1,mm,probe", "B1,housing 1,3,,40.1,mm,probe", heading=heading)
    judged = judging.judge_dimensions()
    assert len(judged.compared) == 1 and "read green" in judged.left_out[0]
