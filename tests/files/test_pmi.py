"""Drawings in STEP files, against the published list of annotations of the NIST test cases.

Source: CTC-FTC-Test-Cases.csv of usnistgov/CAD-PMI-Testing (public domain), one row for each annotation. The
files lie beside the project; without them these are skipped, all but those on hand-written text.
"""

import random
from pathlib import Path

import pytest

from sagger.files import part21, pmi

PARTS = Path(__file__).parents[2].parent / "shared" / "parts"
CTC_01, FTC_07 = "nist_ctc_01_asme1_ap242-e1.stp", "nist_ftc_07_asme1_ap242-e2.stp"


def text(name):
    if not (PARTS / name).exists():
        pytest.skip("part files beside the project")
    return (PARTS / name).read_text("latin-1")


def test_ctc_01_holds_what_the_published_list_says():
    drawing = pmi.read(text(CTC_01))
    assert drawing.lost == ()
    limits = sorted((round(size.lower, 3), round(size.upper, 3)) for size in drawing.dimensions)
    # as listed: 60° ±0.5°, ∅20 +0.05/-0.10, ∅20 +0.10/-0.05, ∅25 ±0.15, ∅34.8 - 35.2, ∅35 +0.2/0, ∅35 0/-0.2,
    # ∅35.2/34.8
    assert limits == [
        (19.9, 20.05), (19.95, 20.1), (24.85, 25.15), (34.8, 35.0), (34.8, 35.2), (34.8, 35.2), (35.0, 35.2),
        (59.5, 60.5),
    ]  # fmt: skip
    widths = sorted(
        (tolerance.kind, tolerance.width_mm, tolerance.datums) for tolerance in drawing.tolerances
    )
    assert widths == [
        ("flatness", 0.2, ()),
        ("perpendicularity", 1.5, ("A",)),
        ("position", 0.75, ("A", "B", "C")),
        ("position", 0.75, ("A", "B", "C")),
        ("surface profile", 0.5, ("A",)),
        ("surface profile", 1.25, ("A", "B", "C")),
    ]
    assert [(datum.name, bool(datum.faces)) for datum in drawing.datums] == [(c, True) for c in "ABC"]


def test_each_dimension_of_ctc_01_is_tied_to_faces_of_its_own_radius():
    drawing = pmi.read(text(CTC_01))
    for size in drawing.dimensions:
        if size.kind == "diameter":
            radii = {round(2 * drawing.faces[number].radius_mm, 6) for number in size.faces}
            assert radii == {size.nominal}
    (angle,) = (size for size in drawing.dimensions if size.unit == "deg")
    assert angle.faces and angle.to


def test_ftc_07_is_an_inch_file_read_in_mm_and_all_tied():
    drawing = pmi.read(text(FTC_07))
    assert [len(drawing.dimensions), len(drawing.tolerances), len(drawing.datums)] == [17, 27, 5]
    assert all(size.faces for size in drawing.dimensions)
    assert all(tolerance.faces or tolerance.whole for tolerance in drawing.tolerances)
    assert all(datum.faces for datum in drawing.datums)
    (radius,) = (size for size in drawing.dimensions if size.kind == "radius")
    assert (round(radius.lower, 3), round(radius.upper, 3)) == (0.305, 0.559)
    assert sum(not face.solid for face in drawing.faces) == 2  # two free planes are construction


def test_as_many_dimensions_are_read_as_the_text_has():
    for name in (CTC_01, FTC_07):
        source = text(name)
        assert len(pmi.read(source).dimensions) == source.count("=DIMENSIONAL_CHARACTERISTIC_REPRESENTATION(")


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(4))
def test_damaged_files_are_read_in_part_and_never_break(seed):
    """Cut short, 40 bytes lost, 40 bytes wrong, 20 lines lost, by turns."""
    whole, chance = text(CTC_01), random.Random(seed)
    complete = pmi.read(whole)
    for turn in range(12):
        drawing = pmi.read(_damaged(whole, turn % 4, chance))
        found = len(drawing.dimensions) + len(drawing.tolerances)
        assert found <= len(complete.dimensions) + len(complete.tolerances)
        for size in drawing.dimensions:
            assert all(number < len(drawing.faces) + 5 for number in size.faces)


def _damaged(whole, way, chance):
    at = chance.randrange(len(whole))
    if way == 0:
        return whole[:at]
    if way == 1:
        return whole[:at] + whole[at + 40 :]
    if way == 2:
        return whole[:at] + "".join(chance.choice("#'();,.$A1\n") for _ in range(40)) + whole[at + 40 :]
    lines = whole.split("\n")
    at = chance.randrange(len(lines))
    return "\n".join(lines[:at] + lines[at + 20 :])


HAND_MADE = """ISO-10303-21;
DATA;
#1 = PLANE('', #2); /* a 'remark' */
#2 = THING('it''s; here', (1., -2.5E-1, #1), $, *, .T., MEASURE(3.5), "0F");
#3 = (FIRST(1) SECOND('x', (#1, #2)));
#4 = BROKEN('(1, 2;
#5 = PLANE('', #1);
ENDSEC;
"""


def test_text_is_taken_apart():
    file = part21.Text(HAND_MADE)
    words, numbers, left_out, derived, true, typed, binary = file.entity(2)["THING"]
    assert words == "it's; here"
    assert numbers == (1.0, -0.25, 1)
    assert isinstance(numbers[2], part21.Reference)
    assert (left_out, derived, true, binary) == (None, None, "T", "0F")
    assert part21.number(typed) == 3.5
    assert set(file.entity(3)) == {"FIRST", "SECOND"}
    assert part21.references(file.entity(3)["SECOND"][1]) == [1, 2]
    assert file.of_type("PLANE") == [1]  # the lost quote before #5 takes it along


def test_what_is_damaged_or_missing_is_said():
    file = part21.Text(HAND_MADE)
    with pytest.raises(part21.Damaged, match="#77 is not in the file"):
        file.entity(77)
    with pytest.raises(part21.Damaged, match="#1 is PLANE, not DATUM"):
        file.entity(1).need("DATUM")
    deep = part21.Text("DATA;\n#1 = A(" + "(" * 500_000 + ");\n")
    with pytest.raises(part21.Damaged):
        deep.entity(1)
