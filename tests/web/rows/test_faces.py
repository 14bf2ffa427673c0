"""Lines taken from clicked faces are lines of the order file, and nothing else."""

import pytest

from page_text import table
from sagger.errors import InputError
from sagger.files import order
from sagger.goods.picked import DrawnHere, PickedFace
from sagger.web.rows import faces as rows

NONE = {"datum": [], "dimension": []}


def face(stated):
    return PickedFace(words=stated, stated=stated, why="", runs=(0, 2))


BORE, TOP, SIDE = map(
    face, ("bore 8 mm at 12, 30, 5 along z", "plane at 1, 1, 12 facing z", "plane at 0, 1, 1 facing x")
)


def test_a_size_of_one_face_and_one_between_two_are_written_as_an_order_has_them():
    one = rows.added(NONE, [BORE], {"what": "diameter", "limit": " H11 ", "name": "main"})
    assert one == {
        "datum": [],
        "dimension": [{"what": "diameter", "of": BORE.stated, "limit": "H11", "name": "main"}],
    }
    two = rows.added(one, [TOP, SIDE], {"what": "angle", "limit": "±0.5 deg", "name": ""})
    assert two["dimension"][1]["to"] == [SIDE.stated] and two["datum"] == []
    read = order.part(rows.part_row({"tolerance": "1 %"}, two), "order.toml")
    assert [line.what for line in read.dimensions] == ["diameter", "angle"]
    assert read.dimensions[0].of.diameter_mm == 8.0


def test_what_is_seen_from_a_datum_names_the_face_once():
    one = rows.added(NONE, [BORE, TOP], {"what": "position", "limit": "0.3 mm"})
    assert one["datum"] == [{"name": "A", "face": TOP.stated}]
    assert one["dimension"][0] | {"to": ["A"], "zone": "round"} == one["dimension"][0]
    two = rows.added(one, [SIDE, TOP], {"what": "perpendicularity", "limit": "0.1 mm"})
    assert len(two["datum"]) == 1 and "zone" not in two["dimension"][1]
    three = rows.added(two, [TOP, SIDE], {"what": "parallelism", "limit": "0.1 mm"})
    assert [datum["name"] for datum in three["datum"]] == ["A", "B"]
    assert rows.listed(three)[0] == f"position of {BORE.stated} to A ({TOP.stated}): 0.3 mm"


def test_a_line_that_is_taken_out_takes_its_datum_with_it_unless_another_needs_it():
    one = rows.added(NONE, [BORE, TOP], {"what": "position", "limit": "0.3 mm"})
    two = rows.added(one, [SIDE, TOP], {"what": "perpendicularity", "limit": "0.1 mm"})
    assert rows.without(two, 0)["datum"] == one["datum"]
    assert rows.without(one, 0) == NONE


def test_a_limit_that_is_none_is_refused_as_the_order_file_would_be():
    lines = rows.added(NONE, [BORE], {"what": "diameter", "limit": "about 8"})
    with pytest.raises(InputError) as refused:
        order.part(rows.part_row({}, lines), "order.toml")
    assert refused.value.field == "[[part]] 1, dimension, 1"
    told = rows.refusal(refused.value)
    assert "these are no limits" in told and "about 8" in told and "{" not in told


def test_letters_of_datums_run_out():
    full = {"datum": [{"name": letter, "face": letter} for letter in rows.LETTERS], "dimension": []}
    with pytest.raises(InputError, match="letters"):
        rows.added(full, [BORE, TOP], {"what": "position", "limit": "0.3 mm"})


def test_the_drawing_is_a_table_whose_numbers_show_faces():
    line = ("1", "diameter 8 mm", "8 to 8.1 mm", "", "", "3, 4", "no limits", "diameter", "8 mm")
    content = rows.table(DrawnHere(rows=(line,), facets=((0, 4),)))
    assert table(content)[1] == ["1", "diameter", "8 mm", "8 to 8.1 mm", "", "3, 4", "no: no limits"]
    assert 'data-line="1"' in str(content)
    assert (
        rows.hint("angle").endswith("deg")
        and "H11" in rows.hint("diameter")
        and "zone" in rows.hint("flatness")
    )
