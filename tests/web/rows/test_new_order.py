"""A new order: the files that came, what the form begins with, and units that must be chosen."""

import pytest

from page_text import table, words
from sagger.desk.planning.drafts import UploadedFile
from sagger.errors import InputError
from sagger.web.rows import new_order as rows
from sagger.web.rows import order_fields


def file(name, kind="STL", **more):
    facts = {"words": "", "needs_unit": kind == "STL", "size": (25.4, 50.8, 2.54), "triangles": 12_345}
    return UploadedFile(name=name, kind=kind, **(facts | more))


STL, STEP = file("lever.v2.stl"), file("clamp.step", "STEP")
ORDER = file("order.toml", "order", words="fills the form", size=None, triangles=0)
BAD = file("bad.stl", "", words="bad.stl: <no> triangles", size=None, triangles=0)


def test_files_are_told_with_what_they_hold_or_why_they_were_refused():
    content = rows.files_table([STL, STEP, ORDER, BAD])
    _, stl, step, order, bad = table(content)
    assert stl == [
        "lever.v2.stl", "STL", "25.40 × 50.80 × 2.54 mm if drawn in mm, 645.16 × 1290.32 × 64.52 mm if in "
        "inches; the file does not say", "12 345",
    ]  # fmt: skip
    assert step == ["clamp.step", "STEP", "25.40 × 50.80 × 2.54 mm", "12 345"]
    assert order == ["order.toml", "order", "fills the form", ""]
    assert bad == ["bad.stl", "refused", "bad.stl: <no> triangles", ""]
    assert words(rows.refusals([STL, BAD])) == "bad.stl: <no> triangles"
    assert "<no>" not in str(content)


def test_the_form_comes_with_a_part_or_an_order_file():
    assert rows.parts([STL, ORDER, BAD, STEP]) == [STL, STEP]
    assert rows.ready([STL]) and rows.ready([ORDER])
    assert not rows.ready([BAD]) and not rows.ready([])


def test_an_order_is_named_after_its_first_part_until_somebody_writes():
    assert rows.first_order([ORDER, STL, STEP]) == {"name": "lever.v2"}
    assert rows.first_order([]) == {"name": "coupons"}


def test_a_part_begins_as_the_order_file_has_it():
    order = {"part": [{"file": "clamp.step", "quantity": 5}]}
    stl, step = rows.form_parts([STL, STEP], order)
    assert rows.first_part(step, order) == {"file": "clamp.step", "quantity": 5}
    assert rows.first_part(stl, order) == {"tolerance": "2 %"}


BOXES = file("box.step", "STEP", bodies=3, inside=(("lid", 1), ("side", 2), ("base", 1)))


def test_an_assembly_is_asked_about_body_by_body_with_its_copies():
    parts = rows.form_parts([STL, BOXES], {})
    assert [part.key.body for part in parts] == ["", "lid", "side", "base"]
    assert rows.first_part(parts[2], {}) == {
        "tolerance": "2 %", "body": "side", "name": "box side", "quantity": 2,
    }  # fmt: skip
    assert rows.heading(parts[2]) == "Part: side of box.step, placed 2 times"
    assert rows.heading(parts[0]) == "Part: lever.v2.stl"


def test_an_assembly_that_an_order_file_takes_as_a_whole_or_in_part_stays_so():
    (all_of_it,) = rows.form_parts([BOXES], {"part": [{"file": "box.step", "body": "all"}]})
    assert all_of_it.key.body == "all"
    (one,) = rows.form_parts([BOXES], {"part": [{"file": "box.step", "body": "side", "quantity": 9}]})
    assert (
        rows.first_part(one, {"part": [{"file": "box.step", "body": "side", "quantity": 9}]})["quantity"] == 9
    )
    many = file("clock.step", "STEP", bodies=118, inside=tuple((f"b{n}", 1) for n in range(118)))
    assert [part.key.body for part in rows.form_parts([many], {})] == ["all"]


def test_a_body_of_which_none_is_wanted_is_left_out():
    made = {"part": [{"file": "box.step", "body": "lid", "quantity": 0}, {"file": "b.stl", "quantity": 0}]}
    assert order_fields.without_left_out(made)["part"] == made["part"][1:]


def test_a_unit_is_not_guessed():
    entries = {"[[part]] 1, unit": "", "[[part]] 2, unit": ""}
    rows.check_units(entries, rows.form_parts([ORDER, STEP], {}))
    with pytest.raises(InputError) as refused:
        rows.check_units(entries, rows.form_parts([ORDER, STEP, STL], {}))
    assert refused.value.field == "[[part]] 2, unit"
    rows.check_units(entries | {"[[part]] 2, unit": "in"}, rows.form_parts([ORDER, STEP, STL], {}))
